mod book;
mod statistics;
