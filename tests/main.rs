mod architecture;
mod book;
mod check;
mod demo;
mod mechanics;
mod statistics;
mod suits;
