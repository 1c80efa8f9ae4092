mod book;
mod check;
mod statistics;
mod suits;
