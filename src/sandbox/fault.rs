//! Why a plug-in gave no answer.

use std::fmt;

/// What stopped a plug-in. Each has a name that a test or a person can look for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SandboxFault {
    /// The module is longer than allowed.
    ModuleTooLong {
        /// Its length, bytes.
        bytes: usize,
    },
    /// The bytes are no module, or one that uses what is not offered.
    NotAModule(String),
    /// Code nested deeper than allowed.
    NestedTooDeep,
    /// The module asks for something of its surroundings.
    Imports(String),
    /// The module wants to run when it is loaded.
    StartsItself,
    /// An export of the contract is missing or has another type.
    NoExport(&'static str),
    /// The module speaks another version of the contract.
    OtherContract(i32),
    /// One call took more steps than allowed.
    CallTooLong,
    /// All calls together took more steps than allowed.
    AllTooLong,
    /// More memory was asked for than allowed.
    MemoryTooLarge,
    /// Calls within calls, or the stack of values, went too deep.
    StackTooDeep,
    /// The module broke off by itself.
    Trapped(String),
    /// A pointer or a length lies outside the module's memory.
    OutsideMemory {
        /// Where it points.
        at: u64,
        /// How long it says it is.
        length: u64,
    },
    /// The answer is longer than allowed.
    AnswerTooLong {
        /// Its length, bytes.
        bytes: u64,
    },
    /// The answer is not text in UTF-8.
    NotUtf8,
    /// The answer is not the document the contract asks for.
    NotTheDocument(String),
    /// More findings than allowed.
    TooManyFindings(usize),
    /// What the plug-in says of itself is not what its record says.
    NotAsDescribed(String),
    /// The file could not be read.
    Unreadable(String),
}

impl SandboxFault {
    /// Its name.
    pub fn name(&self) -> &'static str {
        match self {
            SandboxFault::ModuleTooLong { .. } => "module-too-long",
            SandboxFault::NotAModule(_) => "not-a-module",
            SandboxFault::NestedTooDeep => "nested-too-deep",
            SandboxFault::Imports(_) => "imports-asked-for",
            SandboxFault::StartsItself => "starts-itself",
            SandboxFault::NoExport(_) => "export-missing",
            SandboxFault::OtherContract(_) => "other-contract",
            SandboxFault::CallTooLong => "call-too-long",
            SandboxFault::AllTooLong => "all-too-long",
            SandboxFault::MemoryTooLarge => "memory-too-large",
            SandboxFault::StackTooDeep => "stack-too-deep",
            SandboxFault::Trapped(_) => "trapped",
            SandboxFault::OutsideMemory { .. } => "outside-memory",
            SandboxFault::AnswerTooLong { .. } => "answer-too-long",
            SandboxFault::NotUtf8 => "answer-not-utf8",
            SandboxFault::NotTheDocument(_) => "answer-not-as-agreed",
            SandboxFault::TooManyFindings(_) => "too-many-findings",
            SandboxFault::NotAsDescribed(_) => "not-as-described",
            SandboxFault::Unreadable(_) => "unreadable",
        }
    }
}

impl fmt::Display for SandboxFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use super::limits;
        let mib = |bytes: usize| bytes >> 20;
        match self {
            SandboxFault::ModuleTooLong { bytes } => {
                write!(f, "the module has {bytes} bytes; at most {} MiB are read", mib(limits::MODULE))
            }
            SandboxFault::NotAModule(why) => write!(f, "no WebAssembly module of the kind that is run: {why}"),
            SandboxFault::NestedTooDeep => write!(f, "a function nests more than {} blocks", limits::BLOCKS_DEEP),
            SandboxFault::Imports(what) => write!(f, "the module asks for `{what}`; a plug-in gets nothing but its input"),
            SandboxFault::StartsItself => write!(f, "the module has a start function; a plug-in runs only when it is called"),
            SandboxFault::NoExport(what) => write!(f, "the module does not export {what}"),
            SandboxFault::OtherContract(version) => {
                write!(f, "the module speaks version {version} of the contract, this program version {}", super::CONTRACT)
            }
            SandboxFault::CallTooLong => write!(f, "one call took more than {} steps", limits::FUEL_CALL),
            SandboxFault::AllTooLong => write!(f, "all calls together took more than {} steps", limits::FUEL_ALL),
            SandboxFault::MemoryTooLarge => write!(f, "it asked for more than {} MiB of memory", mib(limits::MEMORY)),
            SandboxFault::StackTooDeep => write!(f, "its calls nest too deep"),
            SandboxFault::Trapped(why) => write!(f, "it broke off: {why}"),
            SandboxFault::OutsideMemory { at, length } => {
                write!(f, "it points to {length} bytes at {at}, which lie outside its memory")
            }
            SandboxFault::AnswerTooLong { bytes } => {
                write!(f, "its answer has {bytes} bytes; at most {} MiB are read", mib(limits::ANSWER))
            }
            SandboxFault::NotUtf8 => write!(f, "its answer is not UTF-8"),
            SandboxFault::NotTheDocument(why) => write!(f, "its answer is not the document of the contract: {why}"),
            SandboxFault::TooManyFindings(n) => write!(f, "it has {n} findings; at most {} are taken", limits::FINDINGS),
            SandboxFault::NotAsDescribed(why) => write!(f, "it is not what its record says: {why}"),
            SandboxFault::Unreadable(why) => write!(f, "it cannot be read: {why}"),
        }
    }
}
