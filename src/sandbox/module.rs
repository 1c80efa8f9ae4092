//! A module: checked before anything of it runs, then called with bytes, answering with bytes.
//!
//! The contract is made of integers: `memory`; `gripbook_contract() -> i32`; `gripbook_allocate(length: i32) -> i32`, which
//! gives room for the input; `gripbook_call(operation: i32, at: i32, length: i32) -> i64`, whose result holds the place of the
//! answer in its upper and its length in its lower 32 bits.

use super::CONTRACT;
use super::fault::SandboxFault;
use super::limits;
use wasmi::errors::{ErrorKind, MemoryError};
use wasmi::{
    CompilationMode, Config, EnforcedLimits, Engine, Error, Instance, Linker, Memory, Store, StoreLimits, StoreLimitsBuilder,
    TrapCode, TypedFunc,
};
use wasmparser::{Operator, Parser, Payload};

/// A module that was checked.
pub struct Module {
    engine: Engine,
    module: wasmi::Module,
}

/// Only what a compiler for this contract needs: no host calls, one memory of 32 bits, no start.
fn engine() -> Engine {
    let mut config = Config::default();
    config
        .consume_fuel(true)
        .allow_start_fn(false)
        .ignore_custom_sections(true)
        .compilation_mode(CompilationMode::Eager)
        .enforced_limits(EnforcedLimits::strict())
        .wasm_multi_memory(false)
        .wasm_tail_call(false)
        .wasm_custom_page_sizes(false)
        .wasm_wide_arithmetic(false)
        .set_max_recursion_depth(limits::CALLS_DEEP)
        .set_min_stack_height(limits::STACK / 64)
        .set_max_stack_height(limits::STACK)
        .set_max_cached_stacks(1);
    Engine::new(&config)
}

/// What the interpreter would meet only while it works on it, or tell in words that do not help.
fn inspect(bytes: &[u8]) -> Result<(), SandboxFault> {
    let broken = |e: wasmparser::BinaryReaderError| SandboxFault::NotAModule(e.message().to_owned());
    for payload in Parser::new(0).parse_all(bytes) {
        match payload.map_err(broken)? {
            Payload::ImportSection(section) => {
                if let Some(import) = section.into_iter().next() {
                    let import = import.map_err(broken)?;
                    return Err(SandboxFault::Imports(super::printable(&format!("{}.{}", import.module, import.name))));
                }
            }
            Payload::StartSection { .. } => return Err(SandboxFault::StartsItself),
            Payload::CodeSectionEntry(body) => {
                let mut deep = 0usize;
                for operator in body.get_operators_reader().map_err(broken)? {
                    match operator.map_err(broken)? {
                        Operator::Block { .. } | Operator::Loop { .. } | Operator::If { .. } => deep += 1,
                        Operator::End => deep = deep.saturating_sub(1),
                        _ => {}
                    }
                    if deep > limits::BLOCKS_DEEP {
                        return Err(SandboxFault::NestedTooDeep);
                    }
                }
            }
            _ => {}
        }
    }
    Ok(())
}

impl Module {
    /// Reads and checks a module; nothing of it runs.
    ///
    /// # Errors
    /// [`SandboxFault`] where it is too long, malformed, nested too deep, or wants what a plug-in does not get.
    pub fn new(bytes: &[u8]) -> Result<Self, SandboxFault> {
        if bytes.len() > limits::MODULE {
            return Err(SandboxFault::ModuleTooLong { bytes: bytes.len() });
        }
        if !bytes.starts_with(b"\0asm") {
            return Err(SandboxFault::NotAModule("it does not begin as one".into()));
        }
        inspect(bytes)?;
        let engine = engine();
        let module =
            wasmi::Module::new(&engine, bytes).map_err(|e| SandboxFault::NotAModule(super::printable(&e.to_string())))?;
        Ok(Module { engine, module })
    }

    /// A fresh instance: memory as the module brings it, nothing left of earlier calls.
    ///
    /// # Errors
    /// [`SandboxFault`] where an export is missing, memory is asked for beyond the limit, or the contract is another.
    pub fn instance(&self) -> Result<Session, SandboxFault> {
        let surroundings = StoreLimitsBuilder::new()
            .memory_size(limits::MEMORY)
            .table_elements(limits::TABLE)
            .instances(1)
            .tables(2)
            .memories(1)
            .trap_on_grow_failure(true)
            .build();
        let mut store = Store::new(&self.engine, surroundings);
        store.limiter(|limits| limits);
        store.set_fuel(limits::FUEL_CALL).map_err(|e| trapped(&e))?;
        let instance = Linker::new(&self.engine).instantiate_and_start(&mut store, &self.module).map_err(|e| fault(&e))?;
        let memory = instance.get_memory(&store, "memory").ok_or(SandboxFault::NoExport("`memory`"))?;
        let contract = function::<(), i32>(&instance, &store, "gripbook_contract", "`gripbook_contract() -> i32`")?;
        let allocate = function::<i32, i32>(&instance, &store, "gripbook_allocate", "`gripbook_allocate(length: i32) -> i32`")?;
        let call = function::<(i32, i32, i32), i64>(
            &instance,
            &store,
            "gripbook_call",
            "`gripbook_call(operation: i32, at: i32, length: i32) -> i64`",
        )?;
        let mut session = Session { store, memory, allocate, call, left: limits::FUEL_ALL };
        let spoken = session.within(|store| contract.call(store, ()))?;
        if spoken == CONTRACT { Ok(session) } else { Err(SandboxFault::OtherContract(spoken)) }
    }
}

fn function<P: wasmi::WasmParams, R: wasmi::WasmResults>(
    instance: &Instance,
    store: &Store<StoreLimits>,
    name: &str,
    shape: &'static str,
) -> Result<TypedFunc<P, R>, SandboxFault> {
    instance.get_typed_func(store, name).map_err(|_| SandboxFault::NoExport(shape))
}

/// An instance with what is left of its steps.
pub struct Session {
    store: Store<StoreLimits>,
    memory: Memory,
    allocate: TypedFunc<i32, i32>,
    call: TypedFunc<(i32, i32, i32), i64>,
    left: u64,
}

/// Bytes that a document points to, in the memory of the module.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bytes {
    /// Where they begin.
    pub at: u32,
    /// How many.
    pub length: u32,
}

impl Session {
    /// Steps that are left for all calls.
    pub fn left(&self) -> u64 {
        self.left
    }
    /// Goes on with what earlier instances left.
    pub fn with_left(mut self, left: u64) -> Self {
        self.left = left;
        self
    }
    /// Runs something of the module within the steps of one call and of all.
    fn within<T>(&mut self, run: impl FnOnce(&mut Store<StoreLimits>) -> Result<T, Error>) -> Result<T, SandboxFault> {
        let given = self.left.min(limits::FUEL_CALL);
        self.store.set_fuel(given).map_err(|e| trapped(&e))?;
        let result = run(&mut self.store);
        let rest = self.store.get_fuel().unwrap_or(0).min(given);
        self.left -= given - rest;
        result.map_err(|e| match fault(&e) {
            SandboxFault::CallTooLong if given < limits::FUEL_CALL => {
                self.left = 0;
                SandboxFault::AllTooLong
            }
            other => other,
        })
    }
    /// Puts bytes into the memory of the module, where the module says.
    ///
    /// # Errors
    /// As [`Session::call`].
    pub fn place(&mut self, bytes: &[u8]) -> Result<Bytes, SandboxFault> {
        let length = i32::try_from(bytes.len()).map_err(|_| SandboxFault::MemoryTooLarge)?;
        let allocate = self.allocate;
        let at = self.within(|store| allocate.call(store, length))? as u32;
        let outside = SandboxFault::OutsideMemory { at: at.into(), length: bytes.len() as u64 };
        self.memory.write(&mut self.store, at as usize, bytes).map_err(|_| outside)?;
        Ok(Bytes { at, length: bytes.len() as u32 })
    }
    /// Calls an operation with a document; gives the place of the answer.
    ///
    /// # Errors
    /// [`SandboxFault`] where it takes too many steps, breaks off, or lies about its memory.
    pub fn call(&mut self, operation: Operation, document: &[u8]) -> Result<Bytes, SandboxFault> {
        let input = self.place(document)?;
        let call = self.call;
        let answer = self.within(|store| call.call(store, (operation as i32, input.at as i32, input.length as i32)))? as u64;
        Ok(Bytes { at: (answer >> 32) as u32, length: answer as u32 })
    }
    /// What stands in the memory of the module.
    ///
    /// # Errors
    /// [`SandboxFault`] where the place lies outside or is longer than an answer may be.
    pub fn bytes(&self, place: Bytes) -> Result<&[u8], SandboxFault> {
        let (at, length) = (u64::from(place.at), u64::from(place.length));
        if place.length as usize > limits::ANSWER {
            return Err(SandboxFault::AnswerTooLong { bytes: length });
        }
        let all = self.memory.data(&self.store);
        all.get(place.at as usize..(at + length) as usize).ok_or(SandboxFault::OutsideMemory { at, length })
    }
}

/// What a module is asked to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(i32)]
pub enum Operation {
    /// To say what it is.
    About = 0,
    /// An importer: to begin with a file.
    Begin = 1,
    /// An importer: to take the next bytes.
    Take = 2,
    /// An importer: to end.
    End = 3,
    /// An audit: to look at a record.
    Look = 4,
}

fn fault(error: &Error) -> SandboxFault {
    match (error.as_trap_code(), error.kind()) {
        (Some(TrapCode::OutOfFuel), _) => SandboxFault::CallTooLong,
        (Some(TrapCode::StackOverflow), _) => SandboxFault::StackTooDeep,
        (Some(TrapCode::GrowthOperationLimited), _) => SandboxFault::MemoryTooLarge,
        (_, ErrorKind::Memory(MemoryError::ResourceLimiterDeniedAllocation | MemoryError::OutOfSystemMemory)) => {
            SandboxFault::MemoryTooLarge
        }
        _ => trapped(error),
    }
}

fn trapped(error: &Error) -> SandboxFault {
    SandboxFault::Trapped(super::printable(&error.to_string()))
}
