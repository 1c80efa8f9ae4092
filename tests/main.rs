mod book;
mod check;
mod mechanics;
mod statistics;
mod suits;
