//! Small modules written as text, each an importer or audit that is right but for one thing.

use gripbook::sandbox::{Module, SandboxFault};

/// A module of the contract: `parts` are added, `call` is the body behind the answer to operation 0 (`about`).
pub struct Text {
    pub does: &'static str,
    pub memory: &'static str,
    pub contract: &'static str,
    pub allocate: &'static str,
    pub call: String,
    pub parts: String,
}

impl Text {
    pub fn audit() -> Text {
        Text {
            does: "audit",
            memory: "(memory (export \"memory\") 4)",
            contract: "(func (export \"gripbook_contract\") (result i32) (i32.const 1))",
            allocate: "(func (export \"gripbook_allocate\") (param $length i32) (result i32) (i32.const 65536))",
            call: answer("{}"),
            parts: String::new(),
        }
    }
    pub fn importer() -> Text {
        Text { does: "importer", ..Text::audit() }
    }
    pub fn call(self, call: impl Into<String>) -> Text {
        Text { call: call.into(), ..self }
    }
    pub fn parts(self, parts: impl Into<String>) -> Text {
        Text { parts: parts.into(), ..self }
    }
    pub fn text(&self) -> String {
        let about = format!("{{\"name\":\"odd\",\"does\":\"{}\"}}", self.does);
        format!(
            "(module {}\n(data (i32.const 16) \"{}\")\n{}\n{}\n{}\n(func (export \"gripbook_call\") (param $operation i32) (param $at i32) \
             (param $length i32) (result i64)\n(if (i32.eqz (local.get $operation)) (then (return {})))\n{}))",
            self.memory,
            escaped(&about),
            self.contract,
            self.allocate,
            self.parts,
            place(16, about.len()),
            self.call,
        )
    }
    pub fn bytes(&self) -> Vec<u8> {
        let text = self.text();
        wat::parse_str(&text).unwrap_or_else(|e| panic!("{e}\n{text}"))
    }
    pub fn module(&self) -> Result<Module, SandboxFault> {
        Module::new(&self.bytes())
    }
}

pub fn escaped(text: &str) -> String {
    text.bytes().map(|b| format!("\\{b:02x}")).collect()
}

/// The number that says where an answer lies.
pub fn place(at: u64, length: usize) -> String {
    format!("(i64.const {})", ((at << 32) | length as u64) as i64)
}

/// Gives a text, written into memory byte by byte at 131072 (four pages hold 131072 bytes of it).
pub fn answer(text: &str) -> String {
    let mut code = String::new();
    for (at, eight) in text.as_bytes().chunks(8).enumerate() {
        let mut word = [0; 8];
        word[..eight.len()].copy_from_slice(eight);
        code.push_str(&format!("(i64.store (i32.const {}) (i64.const {}))", 131_072 + 8 * at, i64::from_le_bytes(word)));
    }
    code + &place(131_072, text.len())
}
