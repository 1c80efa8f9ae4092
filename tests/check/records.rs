//! Values, units and packs: what must be refused with a suggestion, and what must pass.

use super::{assert_none, book, check, pack_of, repository, rules_of, texts};
use gripbook::check::packs::PackFrom;
use gripbook::check::{Targets, rules};
use gripbook::finding::Finding;

fn claim(fields: &str) -> String {
    format!("name: Tough grey\nfamily: acrylate\nproperties:\n  tensile_strength:\n    - {{basis: recalled, {fields}}}\n")
}

/// Each claim gives one finding of this name, and its help holds this text.
fn refused(cases: &[(&str, &str, &str)]) {
    let records: Vec<String> = cases.iter().map(|(fields, ..)| claim(fields)).collect();
    for ((fields, rule, help), findings) in cases.iter().zip(texts("resins", &records)) {
        assert_eq!(rules_of(&findings), [*rule], "{fields}: {findings:?}");
        let said = findings[0].help.as_deref().unwrap_or_default();
        assert!(said.contains(help), "{fields}: {said}");
    }
}

#[test]
fn row_33_values_that_cannot_be_are_refused() {
    refused(&[
        ("value: 46.5 MPa, value: 47 MPa", "key-twice", "keep one"),
        ("value: 46.5 MPa, locater: p", "key-unknown", "`locator`"),
        ("value: [46.5 MPa]", "type-wrong", "MPa"),
        ("value: true", "number-spelling", "MPa"),
        ("value: .nan", "number-form", "finite"),
        ("value: NaN MPa", "number-spelling", "MPa"),
        ("value: 1e999 MPa", "number-out-of-range", "exponent"),
        ("value: 1e-400 MPa", "number-out-of-range", "exponent"),
        ("value: -0", "number-out-of-range", "sign"),
        ("value: 46.5 MPa, n: 1e999", "number-out-of-range", "exponent"),
    ]);
}

#[test]
fn row_34_letters_that_only_look_right_are_reported_with_the_right_unit() {
    refused(&[
        ("value: 46.5 \u{41c}Pa", "unit-confusable", "MPa"),
        ("value: 46.5 M\u{3a1}a", "unit-confusable", "MPa"),
        ("value: 46.5 mPa", "unit-unknown", "MPa"),
        ("value: 46.5 Mpa", "unit-unknown", "MPa"),
        ("value: 46.5 MPa, conditions: {thickness: 3 \u{3bc}m}", "unit-confusable", "µm"),
    ]);
    let micro = texts("resins", &[claim("value: 46.5 MPa, conditions: {thickness: 3 µm}")]);
    assert_none(&micro[0]);
}

#[test]
fn row_35_spellings_of_other_places_are_refused_with_the_plain_one() {
    refused(&[
        ("value: \"46,5 MPa\"", "decimal-comma", "46.5"),
        ("value: 46,5 MPa", "decimal-comma", "46.5 MPa"),
        ("value: \"1\u{2009}000 MPa\"", "digits-grouped", "1000"),
        ("value: \u{2212}46.5 MPa", "minus-sign", "-46.5"),
        ("value: \u{ff14}\u{ff16} MPa", "digits-foreign", "46"),
    ]);
}

#[test]
fn a_pack_may_bring_a_kind_of_its_own() {
    let folder = repository().join("tests/data/packs/coating");
    let report = check(vec![book(), PackFrom::Folder(folder.clone())], Targets::Packs(vec![1]));
    assert!(report.records >= 2);
    assert_none(&report.findings);
    let schema = std::fs::read(folder.join("schemas/coating.schema.json")).expect("the schema");
    let record = "name: Lacquer\nfamily: photopolymer\nproperties:\n  layer_thickness:\n    - {value: 40 MPa, basis: recalled}\n";
    let found = pack_of(&[("schemas/coating.schema.json", &schema), ("coatings/lacquer.yaml", record.as_bytes())]);
    assert_eq!(rules_of(&found), ["unit-wrong-quantity"]);
    // Without the schema nothing tells what the folder holds.
    assert_eq!(rules_of(&pack_of(&[("coatings/lacquer.yaml", record.as_bytes())])), ["kind-unknown"]);
}

/// faults.md row 43: packs may only add.
#[test]
fn row_43_a_pack_never_redefines() {
    let cases: [(&str, &str, &str); 8] = [
        ("schemas/resin.schema.json", "{\"$id\": \"resin.schema.json\", \"title\": \"x\"}\n", "schema-twice"),
        (
            "schemas/glue.schema.json",
            "{\"$id\": \"glue.schema.json\", \"title\": \"x\", \"kind\": \"resin\", \"folder\": \"glues\", \"role\": \"adhesive\"}\n",
            "schema-twice",
        ),
        (
            "schemas/glue.schema.json",
            "{\"$id\": \"glue.schema.json\", \"title\": \"x\", \"kind\": \"glue\", \"folder\": \"resins\", \"role\": \"adhesive\"}\n",
            "schema-twice",
        ),
        ("schemas/glue.schema.json", "{\"$id\": \"other.schema.json\", \"title\": \"x\"}\n", "schema-name"),
        ("schemas/glue.schema.json", "{\"$id\": \"glue.schema.json\", \"titel\": \"x\"}\n", "key-unknown"),
        (
            "schemas/glue.schema.json",
            "{\"$id\": \"glue.schema.json\", \"type\": \"string\", \"quantity\": \"loudness\"}\n",
            "word-unknown",
        ),
        ("polymers/pla.yaml", "name: PLA\nfamily: pla\n", "record-twice"),
        ("pack.yaml", "id: trial\ntitle: x\nlicence: CC0-1.0\nfamilies: {pla: thermoplastic}\n", "family-twice"),
    ];
    for (path, text, rule) in cases {
        let found = pack_of(&[(path, text.as_bytes())]);
        assert_eq!(rules_of(&found), [rule], "{path} {text}: {found:?}");
    }
}

#[test]
fn a_pack_says_what_it_is_and_may_add_leaves_to_the_families() {
    let pack = |text: &str| pack_of(&[("pack.yaml", text.as_bytes())]);
    assert_none(&pack("id: trial\ntitle: x\nlicence: CC-BY-4.0\ncontact: the notice board\n"));
    assert_none(&pack("id: trial\ntitle: x\nlicence: LicenseRef-workshop\n"));
    assert_eq!(rules_of(&pack("id: trial\ntitle: x\nlicence: free\n")), ["licence-unknown"]);
    assert_eq!(rules_of(&pack("title: x\n")), ["key-missing", "key-missing"]);
    assert_eq!(rules_of(&pack("id: trial\ntitle: x\nlicence: CC0-1.0\nauthors: y\n")), ["key-unknown"]);
    let leaves = b"id: trial\ntitle: x\nlicence: CC0-1.0\nfamilies: {pla-foamed-soft: pla-foamed, pla-foamed: pla}\n";
    let record = b"name: Foam\nfamily: pla-foamed-soft\n";
    assert_none(&pack_of(&[("pack.yaml", leaves), ("polymers/foam.yaml", record)]));
    assert_eq!(rules_of(&pack_of(&[("polymers/foam.yaml", record)])), ["family-unknown"]);
    let loose = "id: trial\ntitle: x\nlicence: CC0-1.0\nfamilies: {foam: cheese}\n";
    assert_eq!(rules_of(&pack(loose)), ["family-unknown"]);
    let no_pack = tempfile::tempdir().expect("a folder");
    let report = check(vec![PackFrom::Folder(no_pack.path().to_owned())], Targets::Packs(vec![0]));
    assert_eq!(rules_of(&report.findings), ["pack-missing"]);
}

#[test]
fn files_in_wrong_places_are_findings_and_others_are_left_alone() {
    let good: &[u8] = b"name: x\nfamily: acrylate\n";
    let rule_of = |path: &str| pack_of(&[(path, good)]).first().map(|f| f.rule);
    assert_eq!(rule_of("x.yaml"), Some("file-place"));
    assert_eq!(rule_of("resins/old/x.yaml"), Some("file-place"));
    assert_eq!(rule_of("resins/x.yml"), Some("file-name"));
    assert_eq!(rule_of("resins/notes.txt"), Some("file-name"));
    assert_eq!(rule_of("glues/x.yaml"), Some("kind-unknown"));
    assert_eq!(rule_of("schemas/x.json"), Some("file-place"));
    for fine in ["README.md", "LICENSE", "sheets/a.json", "series/some-id/notes.txt", "docs/notes.txt", "resins/x.yaml"] {
        assert_eq!(rule_of(fine), None, "{fine}");
    }
    assert_eq!(rule_of("series/some-id/a.csv"), Some("curve-unnamed"));
}

#[test]
fn brands_and_invented_data_stay_out_of_the_book() {
    let record: &[u8] =
        b"name: x\nfamily: acrylate\nsupplier: y\nproperties:\n  tg:\n    - {value: 61 \xC2\xB0C, basis: invented}\n";
    let with = |id: &str| {
        let pack = format!("id: {id}\ntitle: x\nlicence: CC0-1.0\n");
        pack_of(&[("pack.yaml", pack.as_bytes()), ("resins/x.yaml", record)])
    };
    assert_eq!(rules_of(&with("book")), ["brand-named", "invented-outside-demo"]);
    assert_eq!(rules_of(&with("demo")), ["brand-named"]);
    assert_none(&with("my-workshop"));
}

#[test]
fn series_name_records_of_fitting_roles() {
    let series = |joint: &str| {
        format!(
            "name: x\nsource: petrie-2000-handbook\nbasis: measured\njoint: {{test: lap-shear, {joint}}}\n\
             measurements:\n  - {{quantity: failure_load, mean: 470 N}}\n"
        )
    };
    let records = [
        series("material: polymer/pla"),
        series("adhesive: polymer/pla"),
        series("material: polymer/plaa"),
        series("material: polimer/pla"),
    ];
    let found: Vec<Vec<&str>> = texts("series", &records).iter().map(|f| rules_of(f)).collect();
    assert!(!found[0].contains(&"reference-unknown") && !found[0].contains(&"reference-role"), "{found:?}");
    assert!(found[1].contains(&"reference-role"), "{found:?}");
    assert!(found[2].contains(&"reference-unknown"), "{found:?}");
    assert!(found[3].contains(&"reference-unknown"), "{found:?}");
}

#[test]
fn what_is_asked_for_is_what_is_checked() {
    let folder = tempfile::tempdir().expect("a folder");
    let bad = "name: x\nfamily: nothing\n";
    for path in ["pack/resins/a.yaml", "pack/resins/b.yaml", "pack/polymers/c.yaml", "resins/loose.yaml", "elsewhere/lost.yaml"] {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("made");
        std::fs::write(path, bad).expect("written");
    }
    let pack = folder.path().join("pack");
    std::fs::write(pack.join("pack.yaml"), "id: trial\ntitle: x\nlicence: CC0-1.0\n").expect("written");
    let asked = |path: &str| {
        let report = check(vec![book(), PackFrom::Folder(pack.clone())], Targets::Paths(vec![folder.path().join(path)]));
        report
            .findings
            .iter()
            .map(|f: &Finding| (f.rule, f.place.file.rsplit('/').next().unwrap_or_default().to_owned()))
            .collect::<Vec<_>>()
    };
    let family = |file: &str| ("family-unknown", file.to_owned());
    assert_eq!(asked("pack/resins/a.yaml"), [family("a.yaml")]);
    assert_eq!(asked("pack/resins"), [family("a.yaml"), family("b.yaml")]);
    assert_eq!(asked("pack"), [family("c.yaml"), family("a.yaml"), family("b.yaml")]);
    assert_eq!(asked("resins/loose.yaml"), [family("loose.yaml")]);
    assert_eq!(asked("elsewhere/lost.yaml"), [("kind-unknown", "lost.yaml".to_owned())]);
    assert_eq!(asked("nowhere.yaml")[0].0, "file-unreadable");
    let text = |subject: Option<&str>| {
        let targets = Targets::Text { subject: subject.map(str::to_owned), shown: "<stdin>".into(), bytes: bad.into() };
        rules_of(&check(vec![book()], targets).findings)
    };
    assert_eq!(text(Some("resin/tough")), ["family-unknown"]);
    assert!(text(None).is_empty());
}

#[test]
fn every_finding_of_check_is_documented() {
    assert!(rules::all().len() >= 80);
    assert!(rules::doc("unit-unknown").is_some_and(|doc| doc.wrong != doc.right));
    assert!(rules::doc("no-such-rule").is_none());
}

/// What only the schema of a pack can ask: a list without twins, a value that is not allowed, forms within forms. And a file
/// with more faults than anybody reads says how many are left.
#[test]
fn what_only_a_schema_of_a_pack_asks_is_refused_too() {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |path: &str, text: &str| {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
        std::fs::write(path, text).expect("a file");
    };
    write("pack.yaml", "id: mine\ntitle: Mine\nlicence: CC0-1.0\n");
    let schema = r#"{
      "$schema": "https://json-schema.org/draft/2020-12/schema", "$id": "lid.schema.json", "title": "Lid", "description": "A lid.",
      "kind": "lid", "folder": "lids", "role": "step", "type": "object", "additionalProperties": false, "required": ["name"],
      "properties": {
        "name": {"$ref": "claim.schema.json#/$defs/name"},
        "marks": {"type": "array", "title": "Marks", "description": "Marks on it.", "uniqueItems": true, "items": {"type": "string"}, "examples": [["a"]]},
        "state": {"type": "string", "title": "State", "description": "How it is.", "not": {"enum": ["lost"]}, "examples": ["closed"]},
        "size": {
          "title": "Size", "description": "How large.", "examples": [3],
          "anyOf": [{"anyOf": [{"anyOf": [{"anyOf": [{"anyOf": [{"anyOf": [{"anyOf": [{"anyOf": [{"type": "integer"}]}]}]}]}]}]}]}]
        },
        "bolts": {"type": "array", "title": "Bolts", "description": "Its bolts.", "items": {"type": "integer"}, "examples": [[1]]}
      }
    }"#;
    write("schemas/lid.schema.json", schema);
    write("lids/fine.yaml", "name: Fine\nmarks: [a, b]\nstate: closed\nsize: 3\n");
    write("lids/twin.yaml", "name: Twin\nmarks: [a, b, a]\n");
    write("lids/lost.yaml", "name: Lost\nstate: lost\n");
    write("lids/large.yaml", "name: Large\nsize: large\n");
    let many: String = (0..2_100).map(|_| "  - wrong\n").collect();
    write("lids/many.yaml", &format!("name: Many\nbolts:\n{many}"));
    let report = check(vec![book(), PackFrom::Folder(folder.path().to_owned())], Targets::Packs(vec![1]));
    let of = |name: &str| -> Vec<&Finding> { report.findings.iter().filter(|f| f.place.file.ends_with(name)).collect() };
    let rules = |name: &str| of(name).iter().map(|f| f.rule).collect::<Vec<_>>();
    assert!(report.findings.iter().all(|f| f.place.file.contains("lids/")), "the schema is fine: {:?}", report.findings);
    assert_eq!(rules("fine.yaml"), Vec::<&str>::new());
    assert_eq!(rules("twin.yaml"), ["item-twice"]);
    assert_eq!(rules("lost.yaml"), ["schema-mismatch"]);
    assert_eq!(rules("large.yaml"), ["form-unknown"]);
    assert_eq!(of("many.yaml").len(), 2_001);
    let cut = of("many.yaml").into_iter().find(|f| f.rule == "findings-cut").expect("the rest is counted");
    assert!(cut.message.contains("100 more"), "{}", cut.message);
    // Each stands at its line.
    let line = |name: &str| of(name)[0].place.span.map(|s| s.line);
    assert_eq!((line("twin.yaml"), line("lost.yaml"), line("large.yaml")), (Some(2), Some(2), Some(2)));
}
