//! The page: what it is made of, and what a person does with it in a real browser.

use crate::faults::scene::program;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs};

/// A module that answers nothing: what the file around it holds is looked at without a browser.
const NO_MODULE: [u8; 4] = [0x1f, 0x8b, 8, 0];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Writes a page into a folder; gives what was said.
fn written(here: &Path, words: &[&str]) -> String {
    let out = program(here, &here.join("cache")).arg("page").args(words).output().expect("runs");
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).expect("text")
}

fn put(folder: &Path, files: &[(&str, &str)]) {
    for (name, text) in files {
        let path = folder.join(name);
        fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
        fs::write(path, text).expect("a file");
    }
}

#[test]
fn without_a_module_it_says_how_to_get_one_and_writes_nothing() {
    let here = tempfile::tempdir().expect("a folder");
    let run = |words: &[&str]| program(here.path(), &here.path().join("cache")).arg("page").args(words).output().expect("runs");
    if !cfg!(feature = "page") {
        let out = run(&["--out", "book.html"]);
        assert_eq!(out.status.code(), Some(2));
        assert!(String::from_utf8_lossy(&out.stderr).contains("tools/page"), "{out:?}");
    }
    let nothing = run(&[]);
    assert!(String::from_utf8_lossy(&nothing.stderr).contains("--out book.html"), "{nothing:?}");
    fs::write(here.path().join("text"), "no module").expect("a file");
    let wrong = run(&["--out", "book.html", "--module", "text"]);
    assert_eq!(wrong.status.code(), Some(3));
    assert!(!here.path().join("book.html").exists());
}

/// A pack whose every text tries to be mark-up.
const HOSTILE: [(&str, &str); 3] = [
    (
        "pack.yaml",
        "id: mine\ntitle: \"</title><script>alert(1)</script>\"\ndescription: \"<img src=x onerror=alert(2)>\"\nlicence: CC0-1.0\n",
    ),
    (
        "resins/evil.yaml",
        "name: \"Evil </script><script>document.title='broken'</script>\"\nfamily: acrylate\nnote: \"<b onclick=alert(3)>x</b>\"\n\
         properties:\n  tensile_strength:\n    - {value: 46 MPa, basis: recalled, note: \"'\\\"><svg onload=alert(4)>\"}\n",
    ),
    (
        "resins/gone.yaml",
        "name: Gone\nfamily: acrylate\nstatus: withdrawn\nwithdrawn: {date: 2026-05-02, because: \"<i>misread</i>\"}\n",
    ),
];

#[test]
fn the_file_loads_nothing_and_no_text_of_a_pack_is_mark_up_in_it() {
    let here = tempfile::tempdir().expect("a folder");
    put(&here.path().join("pack"), &HOSTILE);
    fs::write(here.path().join("none.wasm.gz"), NO_MODULE).expect("a file");
    let words = ["--out", "book.html", "--module", "none.wasm.gz", "--pack", "pack"];
    let said = written(here.path(), &words);
    assert!(said.contains("Who gets it gets all records of these packs.") && said.contains("mine (pack)"), "{said}");
    let html = fs::read_to_string(here.path().join("book.html")).expect("written");
    for bad in [
        "<script>alert",
        "onerror",
        "onload=",
        "onclick=",
        "http://www.w3.org/1999",
        "src=\"http",
        "href=\"http",
        "@import",
        "url(",
    ] {
        assert!(!html.contains(bad), "{bad}");
    }
    assert!(html.contains("default-src &#39;none&#39;; script-src &#39;sha256-"), "the policy");
    assert_eq!(html.matches("<script").count(), html.matches("</script>").count());
    // What begins, the one piece of this module with the line that takes it, three blocks of data, the script.
    assert_eq!(html.matches("<script").count(), 7);
    assert_eq!(html.matches("sha256-").count(), 4, "three scripts and the style");
    // It knows its own file and replaces it; the same packs give the same bytes.
    written(here.path(), &words);
    assert_eq!(fs::read_to_string(here.path().join("book.html")).expect("written"), html);
}

#[test]
fn a_folder_has_a_page_of_every_record_and_no_link_leads_nowhere() {
    let here = tempfile::tempdir().expect("a folder");
    put(&here.path().join("pack"), &HOSTILE);
    written(here.path(), &["--site", "site", "--pack", "pack"]);
    let site = here.path().join("site");
    let mut pages: BTreeMap<PathBuf, String> = BTreeMap::new();
    let mut folders = vec![site.clone()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).expect("a folder").map(|e| e.expect("an entry").path()) {
            match entry.extension().and_then(|e| e.to_str()) {
                None => folders.push(entry),
                Some("html") => drop(pages.insert(entry.clone(), fs::read_to_string(entry).expect("text"))),
                Some(_) => {}
            }
        }
    }
    assert!(pages.len() > 600, "{} pages", pages.len());
    for (path, html) in &pages {
        for bad in ["<script", "<img", "<svg", "<b onclick", "<i>"] {
            assert!(!html.contains(bad), "{}: {bad}", path.display());
        }
        for link in html.split(" href=\"").skip(1).filter_map(|rest| rest.split('"').next()) {
            let target = path.parent().expect("a folder").join(link);
            assert!(target.exists(), "{} leads to {link}", path.display());
        }
    }
    let pla = &pages[&site.join("polymer/pla.html")];
    assert!(pla.contains("Polylactide") && pla.contains("href=\"../source/"), "{pla}");
    let changes = &pages[&site.join("changes.html")];
    assert!(changes.contains("2026-05-02") && changes.contains("&lt;i&gt;misread&lt;/i&gt;"), "{changes}");
    let feed = fs::read_to_string(site.join("changes.xml")).expect("a feed");
    assert!(feed.contains("<updated>2026-05-02T00:00:00Z</updated>"), "{feed}");
}

/// The tasks of `tests/page/tasks.mjs`, ten of a person's and those of the machine: equal answers, no network, accessibility,
/// print. They need the module of `tools/page`, Chromium, Node, and the packages in GRIPBOOK_BROWSER_TOOLS.
#[test]
fn what_a_person_does_works_in_a_real_browser() {
    let module = root().join("target/browser/gripbook.wasm.gz");
    let chromium = env::var("GRIPBOOK_CHROMIUM").unwrap_or_else(|_| "/usr/bin/chromium".into());
    let tools = env::var("GRIPBOOK_BROWSER_TOOLS").unwrap_or_else(|_| root().join("target/browser-tools").display().to_string());
    let needed = [module.as_path(), Path::new(&chromium), &Path::new(&tools).join("node_modules/playwright-core")];
    if let Some(missing) = needed.iter().find(|path| !path.exists()) {
        assert!(env::var_os("GRIPBOOK_REQUIRE").is_none(), "{} is missing", missing.display());
        println!("skipped: {} is missing; tools/page --module-only and .ci/run make what is needed", missing.display());
        return;
    }
    let here = tempfile::tempdir().expect("a folder");
    let module = module.display().to_string();
    written(here.path(), &["--out", "book.html", "--module", &module, "--pack", "demo"]);
    let size = fs::metadata(here.path().join("book.html")).expect("written").len();
    assert!(size <= 6_000_000, "{size} bytes");
    let shots = root().join("target/browser/seen");
    let out = Command::new("node")
        .arg(root().join("tests/page/tasks.mjs"))
        .args([here.path().join("book.html"), env!("CARGO_BIN_EXE_gripbook").into(), shots])
        .env("GRIPBOOK_BROWSER_TOOLS", &tools)
        .env("GRIPBOOK_CHROMIUM", &chromium)
        .output()
        .expect("node runs");
    let said = String::from_utf8_lossy(&out.stdout);
    println!("{said}");
    assert!(out.status.success(), "{said}\n{}", String::from_utf8_lossy(&out.stderr));
}
