//! gripbook
