// Runs the module beside the page: a document in, a document out, no import.
'use strict';
let compiled, exported, opening, carried;
const encoder = new TextEncoder(), decoder = new TextDecoder();

/** Hands a document to an operation of the module; gives its answer as text. */
const call = (operation, said) => call_with(operation, encoder.encode(JSON.stringify(said)));

function call_with(operation, bytes) {
  const at = exported.gripbook_allocate(bytes.length) >>> 0;
  new Uint8Array(exported.memory.buffer, at, bytes.length).set(bytes);
  const answer = BigInt.asUintN(64, exported.gripbook_call(operation, at, bytes.length));
  const [from, length] = [Number(answer >> 32n), Number(answer & 0xffffffffn)];
  return decoder.decode(new Uint8Array(exported.memory.buffer, from, length));
}

/** A fresh module with the book in it. */
async function open() {
  exported = (await WebAssembly.instantiate(compiled, {})).exports;
  call_with(4, carried);
  return call(1, opening);
}

self.onmessage = async ({ data: { id, module, open: packs, read, operation, said } }) => {
  try {
    if (module) {
      compiled = module;
      opening = packs;
      carried = read;
      self.postMessage({ id, answer: await open() });
    } else {
      self.postMessage({ id, answer: call(operation, said) });
    }
  } catch (fault) {
    // What broke off may have left anything behind: begin anew.
    if (!module && compiled) await open();
    self.postMessage({ id, answer: JSON.stringify({ exit: 70, message: 'internal error: ' + fault.message, help: 'please report it with the question you asked' }) });
  }
};
