mod book;
mod statistics;
mod suits;
mod check;
