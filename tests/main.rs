mod architecture;
mod book;
mod check;
mod mechanics;
mod demo;
mod statistics;
mod suits;
