mod architecture;
mod book;
mod check;
mod demo;
mod mechanics;
mod quantity;
mod statistics;
mod suits;
