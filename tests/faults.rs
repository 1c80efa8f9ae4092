//! Faults on purpose: full disks, failing calls, kills, closed streams, hostile files. The table of all rows is `FAULTS.md`.

mod calls;
mod disk;
mod hostile;
pub mod kills;
pub mod scene;
mod streams;
mod whole;

/// The table names tests; each has to exist, and every row from 1 to 55 has to stand in it.
#[test]
fn the_table_of_faults_is_true() {
    fn sources(folder: &std::path::Path, into: &mut String) {
        for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
            if entry.path().is_dir() {
                sources(&entry.path(), into);
            } else if entry.path().extension().is_some_and(|e| e == "rs") {
                *into += &std::fs::read_to_string(entry.path()).expect("text");
            }
        }
    }
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut code = String::new();
    sources(&root.join("tests"), &mut code);
    sources(&root.join("src"), &mut code);
    let table = &std::fs::read_to_string(root.join("tests/FAULTS.md")).expect("the table");
    let mut rows = std::collections::BTreeSet::new();
    for line in table.lines().filter(|l| l.starts_with("| ") && l.as_bytes()[2].is_ascii_digit()) {
        let cells: Vec<&str> = line.trim_matches('|').split(" | ").map(str::trim).collect();
        // `6a` and `6b` are sweeps of one row.
        let number = cells[0].trim_end_matches(char::is_alphabetic);
        let tests = cells[cells.len() - 1].trim_end_matches([' ', '|']);
        match number.split_once('–').or_else(|| number.split_once(", ")) {
            Some((a, b)) => rows.extend(a.parse::<u32>().expect("a row")..=b.parse().expect("a row")),
            None => drop(rows.insert(number.parse().expect("a row"))),
        }
        for name in tests.split('`').filter(|t| t.contains("::") || t.starts_with("row_")) {
            let last = name.rsplit("::").next().unwrap_or_default().trim_end_matches('*');
            let is_there = code.contains(&format!("fn {last}")) || code.contains(&format!("mod {last};"));
            assert!(is_there, "row {number}: {name}");
        }
    }
    assert!(rows.into_iter().eq(1..=57));
}
