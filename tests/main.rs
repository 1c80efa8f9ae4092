mod book;
