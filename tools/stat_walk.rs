//! Yardstick for tools/bench: how long it takes to ask the file system about every file below a folder, and nothing else.
//!
//! `cargo run --release --example stat_walk FOLDER` prints the number of files and their bytes. Folders are listed in
//! parallel, and so are the questions for size and time of the files inside one folder.

use rayon::prelude::*;
use std::fs::{self, DirEntry};
use std::io;
use std::path::Path;
use std::process::ExitCode;

/// Files and bytes below a folder.
#[derive(Default, Clone, Copy)]
struct Sum {
    files: u64,
    bytes: u64,
}

impl Sum {
    fn and(self, other: Sum) -> Sum {
        Sum { files: self.files + other.files, bytes: self.bytes + other.bytes }
    }
}

fn walk(folder: &Path) -> io::Result<Sum> {
    let entries: Vec<DirEntry> = fs::read_dir(folder)?.collect::<io::Result<_>>()?;
    entries.into_par_iter().map(one).try_reduce(Sum::default, |a, b| Ok(a.and(b)))
}

fn one(entry: DirEntry) -> io::Result<Sum> {
    if entry.file_type()?.is_dir() {
        return walk(&entry.path());
    }
    let facts = entry.metadata()?;
    Ok(Sum { files: 1, bytes: facts.len() })
}

fn main() -> ExitCode {
    let Some(folder) = std::env::args_os().nth(1) else {
        eprintln!("usage: stat_walk FOLDER");
        return ExitCode::from(2);
    };
    match walk(Path::new(&folder)) {
        Ok(sum) => {
            println!("{} files, {} bytes", sum.files, sum.bytes);
            ExitCode::SUCCESS
        }
        Err(fault) => {
            eprintln!("{}: {fault}", Path::new(&folder).display());
            ExitCode::from(3)
        }
    }
}
