//! Modules that mean ill or are broken: each is stopped by its own name, within the steps and the memory allowed, and changes
//! nothing else. `tests/FAULTS.md` has times and memory.

use super::modules::{Text, answer, place};
use gripbook::audit::Outside;
use gripbook::book::Book;
use gripbook::finding::Severity;
use gripbook::sandbox::{AuditPlugin, ImporterPlugin, Module, SandboxFault, limits};
use gripbook::series::importer::{Ask, Importer, ImporterCard, RowIn, Sink};
use serde_json::json;
use std::time::{Duration, Instant};

#[derive(Default)]
struct Count {
    samples: usize,
    rows: Vec<RowIn>,
}

impl Sink for Count {
    fn sample(&mut self, _: f64, _: f64, _: u64) {
        self.samples += 1;
    }
    fn row(&mut self, row: RowIn) {
        self.rows.push(row);
    }
    fn progress(&mut self, _: u64) {}
}

const CARD: ImporterCard = ImporterCard { name: "odd", takes: "", example: "" };

/// A record to look at.
fn book() -> Book {
    super::super::joint::book(&[])
}

/// What becomes of an audit that looks at one record.
fn audited(module: Result<Module, SandboxFault>, book: &Book) -> Result<Outside, SandboxFault> {
    let plugin = AuditPlugin::new("odd", Severity::Warning, module?)?;
    let record = book.record("polymer/pla").expect("a record");
    let (found, stopped) = plugin.look([(record, json!({"name": "PLA"}))].into_iter(), "2026-01-01");
    stopped.map_or(Ok(found), Err)
}

/// What becomes of an importer that reads two blocks.
fn imported(module: Result<Module, SandboxFault>) -> Result<Count, String> {
    let said = |fault: SandboxFault| format!("{}: {fault}", fault.name());
    let plugin = ImporterPlugin::new(&CARD, module.map_err(said)?).map_err(said)?;
    let mut sink = Count::default();
    let file = vec![7u8; 200_000];
    match plugin.read(&mut file.as_slice(), &Ask { file: "a.log".into(), ..Ask::default() }, &mut sink) {
        Ok(_) => Ok(sink),
        Err(findings) => Err(findings.iter().map(|f| f.message.clone()).collect::<Vec<_>>().join("; ")),
    }
}

fn leb(mut n: usize) -> Vec<u8> {
    let mut bytes = Vec::new();
    loop {
        let low = (n & 0x7f) as u8;
        n >>= 7;
        bytes.push(if n == 0 { low } else { low | 0x80 });
        if n == 0 {
            return bytes;
        }
    }
}

fn section(id: u8, content: &[u8]) -> Vec<u8> {
    [vec![id], leb(content.len()), content.to_vec()].concat()
}

/// A module of one function with this body.
fn one_function(body: &[u8]) -> Vec<u8> {
    let code = [leb(body.len() + 2), vec![0], body.to_vec(), vec![0x0b]].concat();
    [b"\0asm\x01\0\0\0".to_vec(), section(1, &[1, 0x60, 0, 0]), section(3, &[1, 0]), section(10, &[vec![1], code].concat())]
        .concat()
}

fn findings(n: usize, of: &str) -> String {
    format!("{{\"findings\":[{}]}}", vec![of; n].join(","))
}

const FINDING: &str = r#"{"at":"/name","severity":"warning","message":"odd"}"#;

/// The hostile audits: what they do, the module, the name of the fault.
fn audits() -> Vec<(&'static str, Vec<u8>, &'static str)> {
    let audit = Text::audit;
    let forever = "(loop $l (br $l))";
    let text = |t: Text| t.bytes();
    let call = |body: &str| audit().call(body).bytes();
    let said = |json: &str| audit().call(answer(json)).bytes();
    let filled = |byte: u8, length: u32| {
        call(&format!(
            "(drop (memory.grow (i32.const 200))) (memory.fill (i32.const 131072) (i32.const {byte}) (i32.const {length})) {}",
            place(131_072, length as usize)
        ))
    };
    let nested = |open: &[u8], n: usize, close: u8| one_function(&[open.repeat(n), vec![close; n]].concat());
    vec![
        ("runs without end", call(&format!("{forever} (unreachable)")), "call-too-long"),
        (
            "makes room without end",
            text(Text {
                allocate: "(func (export \"gripbook_allocate\") (param i32) (result i32) (loop $l (br $l)) (unreachable))",
                ..audit()
            }),
            "call-too-long",
        ),
        (
            "tells its contract without end",
            text(Text { contract: "(func (export \"gripbook_contract\") (result i32) (loop $l (br $l)) (unreachable))", ..audit() }),
            "call-too-long",
        ),
        (
            "counts to the end of numbers",
            audit()
                .parts("(global $n (mut i64) (i64.const 0))")
                .call(format!(
                    "(loop $l (global.set $n (i64.add (global.get $n) (i64.const 1))) (br_if $l (i64.ne (global.get $n) (i64.const -1)))) {}",
                    place(0, 0)
                ))
                .bytes(),
            "call-too-long",
        ),
        (
            "fills its memory again and again",
            call(
                "(drop (memory.grow (i32.const 1000))) (loop $l (memory.fill (i32.const 0) (i32.const 1) (i32.const 60000000)) (br $l)) \
                 (unreachable)"
            ),
            "call-too-long",
        ),
        (
            "copies its memory again and again",
            call(
                "(drop (memory.grow (i32.const 1000))) (loop $l (memory.copy (i32.const 0) (i32.const 9) (i32.const 60000000)) (br $l)) \
                 (unreachable)"
            ),
            "call-too-long",
        ),
        ("calls itself without end", audit().parts("(func $f (call $f))").call("(call $f) (unreachable)").bytes(), "stack-too-deep"),
        (
            "calls itself with a thousand values",
            audit()
                .parts(format!("(func $f {} (call $f))", "(local i64)".repeat(1000)))
                .call("(call $f) (unreachable)")
                .bytes(),
            "stack-too-deep",
        ),
        (
            "two call each other without end",
            audit().parts("(func $f (call $g)) (func $g (call $f))").call("(call $f) (unreachable)").bytes(),
            "stack-too-deep",
        ),
        (
            "calls itself by a table",
            audit()
                .parts("(type $t (func)) (table 1 funcref) (elem (i32.const 0) $f) (func $f (call_indirect (type $t) (i32.const 0)))")
                .call("(call $f) (unreachable)")
                .bytes(),
            "stack-too-deep",
        ),
        ("asks for all memory at once", call("(drop (memory.grow (i32.const 60000))) (unreachable)"), "memory-too-large"),
        (
            "asks for memory page by page",
            call("(loop $l (drop (memory.grow (i32.const 1))) (br $l)) (unreachable)"),
            "memory-too-large",
        ),
        ("begins with a page too many", text(Text { memory: "(memory (export \"memory\") 1025)", ..audit() }), "memory-too-large"),
        ("begins with 4 GiB", text(Text { memory: "(memory (export \"memory\") 65536)", ..audit() }), "memory-too-large"),
        ("has a table of ten million", audit().parts("(table 10000000 funcref)").bytes(), "trapped"),
        ("has ten tables", audit().parts("(table 1 funcref)".repeat(10)).bytes(), "trapped"),
        ("lies that its answer is 4 GiB long", call(&place(131_072, 0xffff_ffff)), "answer-too-long"),
        ("answers a byte too much", call(&place(131_072, limits::ANSWER + 1)), "answer-too-long"),
        ("points behind its memory", call(&place(0xffff_fff0, 8)), "outside-memory"),
        ("points at the last byte and further", call(&place(4 * 65_536 - 1, 2)), "outside-memory"),
        ("points so that the end wraps round", call(&place(0xffff_ffff, 4096)), "outside-memory"),
        (
            "makes room outside of its memory",
            text(Text {
                allocate: "(func (export \"gripbook_allocate\") (param i32) (result i32) (i32.const 300000))",
                ..audit()
            }),
            "outside-memory",
        ),
        (
            "makes room before its memory",
            text(Text { allocate: "(func (export \"gripbook_allocate\") (param i32) (result i32) (i32.const -1))", ..audit() }),
            "outside-memory",
        ),
        (
            "makes room for a part of it",
            text(Text {
                allocate: "(func (export \"gripbook_allocate\") (param i32) (result i32) (i32.const 262143))",
                ..audit()
            }),
            "outside-memory",
        ),
        ("answers in no UTF-8", filled(0xff, 100), "answer-not-utf8"),
        ("answers with zeros", filled(0, 100), "answer-not-as-agreed"),
        ("answers nothing", call(&place(0, 0)), "answer-not-as-agreed"),
        ("answers no JSON", said("hello"), "answer-not-as-agreed"),
        ("answers a list", said("[]"), "answer-not-as-agreed"),
        ("gives its findings as lists", said(r#"{"findings":[["/name","warning","m","h"]]}"#), "answer-not-as-agreed"),
        ("answers half a document", said("{\"findings\":["), "answer-not-as-agreed"),
        ("answers two documents", said("{}{}"), "answer-not-as-agreed"),
        ("answers eight million brackets", filled(b'[', 8_000_000), "answer-not-as-agreed"),
        ("answers seventeen deep", said(&format!("{}{}", "[".repeat(17), "]".repeat(17))), "answer-not-as-agreed"),
        ("adds a field", said("{\"findings\":[],\"integrity\":true}"), "answer-not-as-agreed"),
        (
            "marks a finding as integrity",
            said(r#"{"findings":[{"at":"/name","severity":"warning","message":"m","integrity":true}]}"#),
            "answer-not-as-agreed",
        ),
        (
            "invents a severity",
            said(r#"{"findings":[{"at":"/name","severity":"fatal","message":"m"}]}"#),
            "answer-not-as-agreed",
        ),
        ("gives a number for a text", said(r#"{"findings":[{"at":7,"severity":"note","message":"m"}]}"#), "answer-not-as-agreed"),
        ("gives a field twice", said(r#"{"findings":[],"findings":[]}"#), "answer-not-as-agreed"),
        ("has a finding too many", said(&findings(limits::FINDINGS + 1, FINDING)), "too-many-findings"),
        ("breaks off", call("(unreachable)"), "trapped"),
        ("divides by zero", call("(drop (i32.div_u (i32.const 1) (i32.const 0))) (unreachable)"), "trapped"),
        ("reads behind its memory", call("(drop (i32.load (i32.const -8))) (unreachable)"), "trapped"),
        (
            "calls what is not in its table",
            audit()
                .parts("(type $t (func)) (table 1 funcref)")
                .call("(call_indirect (type $t) (i32.const 5)) (unreachable)")
                .bytes(),
            "trapped",
        ),
        (
            "speaks version 2",
            text(Text { contract: "(func (export \"gripbook_contract\") (result i32) (i32.const 2))", ..audit() }),
            "other-contract",
        ),
        (
            "speaks version -1",
            text(Text { contract: "(func (export \"gripbook_contract\") (result i32) (i32.const -1))", ..audit() }),
            "other-contract",
        ),
        (
            "has a number for its contract",
            text(Text { contract: "(global (export \"gripbook_contract\") i32 (i32.const 1))", ..audit() }),
            "export-missing",
        ),
        ("hides its memory", text(Text { memory: "(memory 4)", ..audit() }), "export-missing"),
        ("has no function to call", wat::parse_str("(module (memory (export \"memory\") 1))").expect("text"), "export-missing"),
        (
            "takes floating numbers for room",
            text(Text { allocate: "(func (export \"gripbook_allocate\") (param f64) (result i32) (i32.const 0))", ..audit() }),
            "export-missing",
        ),
        ("is an importer", text(Text::importer()), "not-as-described"),
        ("has another name", audit().bytes_named("other"), "not-as-described"),
        (
            "asks for a function",
            wat::parse_str("(module (import \"host\" \"run\" (func)))").expect("text"),
            "imports-asked-for",
        ),
        (
            "asks for the system's interface",
            wat::parse_str(
                "(module (import \"wasi_snapshot_preview1\" \"fd_write\" (func (param i32 i32 i32 i32) (result i32))))",
            )
            .expect("text"),
            "imports-asked-for",
        ),
        ("asks for memory of another", wat::parse_str("(module (import \"m\" \"m\" (memory 1)))").expect("text"), "imports-asked-for"),
        ("starts by itself", audit().parts("(func $s (loop $l (br $l))) (start $s)").bytes(), "starts-itself"),
        ("is cut off", audit().bytes()[..60].to_vec(), "not-a-module"),
        ("is empty", Vec::new(), "not-a-module"),
        ("is text", audit().text().into_bytes(), "not-a-module"),
        ("is a head and noise", [b"\0asm\x01\0\0\0".to_vec(), vec![0xa5; 5000]].concat(), "not-a-module"),
        ("is of version 2", b"\0asm\x02\0\0\0".to_vec(), "not-a-module"),
        ("has two memories", audit().parts("(memory 1)").bytes(), "not-a-module"),
        ("has memory of 64 bits", wat::parse_str("(module (memory (export \"memory\") i64 1))").expect("text"), "not-a-module"),
        ("calls at the tail", audit().parts("(func $f (return_call $f))").bytes(), "not-a-module"),
        ("is a byte too long", vec![0; limits::MODULE + 1], "module-too-long"),
        ("nests a thousand and one blocks", nested(&[0x02, 0x40], 1001, 0x0b), "nested-too-deep"),
        ("nests 4 MiB of blocks", nested(&[0x02, 0x40], (limits::MODULE - 100) / 3, 0x0b), "nested-too-deep"),
        ("nests 4 MiB of loops", nested(&[0x03, 0x40], (limits::MODULE - 100) / 3, 0x0b), "nested-too-deep"),
        (
            "has a function of 4 MiB without nests",
            one_function(&[0x41, 0x00, 0x1a].repeat((limits::MODULE - 100) / 3)),
            "export-missing",
        ),
        ("says it has two thousand million locals", {
            let code = [vec![1], leb(2_000_000_000), vec![0x7f, 0x0b]].concat();
            let code = [leb(code.len()), code].concat();
            [b"\0asm\x01\0\0\0".to_vec(), section(1, &[1, 0x60, 0, 0]), section(3, &[1, 0]), section(10, &[vec![1], code].concat())]
                .concat()
        }, "not-a-module"),
    ]
}

/// The hostile importers.
fn importers() -> Vec<(&'static str, Text, &'static str)> {
    let taking = |body: String| {
        Text::importer()
            .call(format!("(if (i32.eq (local.get $operation) (i32.const 2)) (then (return {body}))) {}", answer("{}")))
    };
    // A block is code, so that a value comes out of it.
    let said = |json: &str| taking(format!("(block (result i64) {})", answer(json)));
    let sample = |travel: u64, load: u64| {
        taking(format!(
            "(block (result i64) (i64.store (i32.const 200000) (i64.const {})) (i64.store (i32.const 200008) (i64.const {})) {})",
            travel as i64,
            load as i64,
            answer(r#"{"samples":{"at":200000,"length":24}}"#)
        ))
    };
    vec![
        ("gives a number that is none", sample(0, f64::NAN.to_bits()), "answer-not-as-agreed"),
        ("gives a number that is none, with a load inside", sample(0x7ff8_dead_beef_0001, 0), "answer-not-as-agreed"),
        ("gives a load without end", sample(0, f64::INFINITY.to_bits()), "answer-not-as-agreed"),
        ("gives half a sample", said(r#"{"samples":{"at":200000,"length":25}}"#), "answer-not-as-agreed"),
        ("gives samples behind its memory", said(r#"{"samples":{"at":262140,"length":24}}"#), "outside-memory"),
        ("gives samples at the end of numbers", said(r#"{"samples":{"at":4294967295,"length":24}}"#), "outside-memory"),
        ("gives too many samples", said(r#"{"samples":{"at":0,"length":8400000}}"#), "answer-too-long"),
        ("gives a place below zero", said(r#"{"samples":{"at":-1,"length":24}}"#), "answer-not-as-agreed"),
        ("never ends the reading", taking("(block (result i64) (loop $l (br $l)) (unreachable))".into()), "call-too-long"),
        ("gives a row that is a list", said(r#"{"rows":[[1]]}"#), "answer-not-as-agreed"),
        ("does nothing but note", said(&findings(600, r#"{"severity":"note","message":"hm"}"#)), "too-many-findings"),
        ("is an audit", Text::audit(), "not-as-described"),
    ]
}

impl Text {
    fn bytes_named(&self, name: &str) -> Vec<u8> {
        let text = self.text().replace(&super::modules::escaped("\"odd\""), &super::modules::escaped(&format!("\"{name}\"")));
        let longer = name.len() - "odd".len();
        let (old, new) = (place(16, 29), place(16, 29 + longer));
        wat::parse_str(text.replace(&old, &new)).expect("text")
    }
}

#[test]
fn every_hostile_module_is_stopped_by_its_name() {
    let book = book();
    let mut slowest = (Duration::ZERO, "");
    let audits = audits();
    assert!(audits.len() + importers().len() >= 40);
    for (what, bytes, name) in &audits {
        let since = Instant::now();
        let stopped = audited(Module::new(bytes), &book).expect_err(what);
        slowest = slowest.max((since.elapsed(), what));
        assert_eq!(stopped.name(), *name, "an audit that {what}: {stopped}");
        assert!(stopped.to_string().len() < 500, "{what}");
    }
    for (what, text, name) in importers() {
        let since = Instant::now();
        let stopped = imported(text.module()).map(|c| c.samples).expect_err(what);
        slowest = slowest.max((since.elapsed(), what));
        assert!(stopped.contains(&format!("{name}: ")), "an importer that {what}: {stopped}");
    }
    println!("{} audits, {} importers; the slowest took {slowest:?}", audits.len(), importers().len());
    // A right module still runs after all of them.
    assert_eq!(audited(Text::audit().module(), &book).expect("it is right").found.len(), 0);
    assert_eq!(imported(Text::importer().module()).expect("it is right").samples, 0);
}

/// What is allowed is allowed up to its limit.
#[test]
fn what_stays_within_the_limits_is_taken() {
    let book = book();
    let taken = |text: Text| audited(text.module(), &book).expect("within the limits");
    assert_eq!(
        taken(Text::audit().call(answer(&findings(limits::FINDINGS, FINDING)))).found["polymer/pla"].len(),
        limits::FINDINGS
    );
    let grown = format!("(drop (memory.grow (i32.const 1020))) {}", answer("{}"));
    assert!(taken(Text::audit().call(grown)).found.is_empty(), "64 MiB are allowed");
    let deep = "(block ".repeat(900) + &")".repeat(900);
    assert!(taken(Text::audit().parts(format!("(func $f {deep})"))).found.is_empty());
}

/// An error counts as a warning, and never more than the record says; control characters and length are cut.
#[test]
fn a_plugin_cannot_shout() {
    let book = book();
    let json = format!(
        r#"{{"findings":[{{"at":"/name","severity":"error","message":"\u001b[31m{}"}},{{"at":"{}","severity":"note","message":""}}]}}"#,
        "x".repeat(limits::TEXT),
        "/properties/tg/0"
    );
    let found = audited(Text::audit().call(answer(&json)).module(), &book).expect("it is right");
    let found = &found.found["polymer/pla"];
    assert_eq!(found[0].severity, Severity::Warning);
    assert!(found[0].message.len() <= limits::TEXT && !found[0].message.contains('\u{1b}'));
    let quiet = AuditPlugin::new("odd", Severity::Error, Text::audit().call(answer(&json)).module().expect("a module"));
    let record = book.record("polymer/pla").expect("a record");
    let (found, _) = quiet.expect("an audit").look([(record, json!({}))].into_iter(), "2026-01-01");
    assert!(found.severity == Severity::Warning, "a record cannot make an error of it");
}

/// Each record is looked at by a fresh instance: what a module remembers of one is gone at the next.
#[test]
fn nothing_is_remembered_between_records() {
    let book = book();
    // Finds something only if it was called before.
    let text = Text::audit().parts("(global $before (mut i32) (i32.const 0))").call(format!(
        "(if (global.get $before) (then (return (block (result i64) {})))) (global.set $before (i32.const 1)) {}",
        answer(&findings(1, FINDING)),
        answer("{}")
    ));
    let plugin = AuditPlugin::new("odd", Severity::Warning, text.module().expect("a module")).expect("an audit");
    let records = ["polymer/pla", "polymer/petg", "polymer/abs"].map(|id| (book.record(id).expect("a record"), json!({})));
    let (found, stopped) = plugin.look(records.into_iter(), "2026-01-01");
    assert!(found.found.is_empty() && stopped.is_none(), "{found:?}");
}

/// All calls together have a limit too, and what was found before it stays.
#[test]
fn the_steps_of_all_calls_are_counted() {
    let book = book();
    // A third of the steps of a call for each record: no call is too long, all together are.
    let steps = limits::FUEL_CALL / 4;
    let text = Text::audit().parts("(global $n (mut i32) (i32.const 0))").call(format!(
        "(loop $l (global.set $n (i32.add (global.get $n) (i32.const 1))) (br_if $l (i32.lt_u (global.get $n) (i32.const {})))) {}",
        steps / 7,
        answer(&findings(1, FINDING))
    ));
    let plugin = AuditPlugin::new("odd", Severity::Warning, text.module().expect("a module")).expect("an audit");
    let record = book.record("polymer/pla").expect("a record");
    let mut calls = 0;
    let many = std::iter::repeat_with(|| {
        calls += 1;
        (record, json!({}))
    });
    let (found, stopped) = plugin.look(many.take(2_000), "2026-01-01");
    assert_eq!(stopped.map(|f| f.name()), Some("all-too-long"));
    assert_eq!(found.found.len(), 1, "what was found stays");
    assert!((10..2_000).contains(&calls), "{calls} calls");
}
