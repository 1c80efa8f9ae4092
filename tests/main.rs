mod book;
mod statistics;
mod suits;
