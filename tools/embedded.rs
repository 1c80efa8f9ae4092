//! The library in another program: packs from memory, three questions, answers as JSON. `cargo run --example embedded`
//! runs it; it needs no feature of the command line.

use gripbook::ask::{Library, Refused};
use gripbook::plugins::BUILT_IN;
use std::collections::BTreeMap;

const PACK: &str = "id: bench\ntitle: Resins of our bench\nlicence: CC0-1.0\n";
const GREY: &str = "name: Grey\nfamily: acrylate\nproperties:\n  tensile_strength:\n    - {value: 46 MPa, basis: recalled}\n";

fn main() -> Result<(), Refused> {
    let files = [("pack.yaml", PACK), ("resins/bench-grey.yaml", GREY)];
    let files: BTreeMap<String, Vec<u8>> = files.map(|(path, text)| (path.to_owned(), text.into())).into();
    let library = Library::from_bytes("bench", files, BUILT_IN)?;
    for left_out in &library.book().left_out {
        eprintln!("left out: {}: {}", left_out.place.file, left_out.message);
    }
    let glue = library.suits("cyanoacrylate-thick", "bench-grey")?;
    let joint = library.fasten("bench-grey", "M3", "6 mm", Some("300 N"))?;
    println!("{:#}", serde_json::json!({"suits": glue, "fasten": joint}));
    Ok(())
}
