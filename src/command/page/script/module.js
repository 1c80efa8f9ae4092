// The module: unpacked from the file, run in a worker, asked with the words of a command line.

/** The bytes of a base64 text: by the browser where it can, else by a loop. */
function bytes_of(base64) {
  if (Uint8Array.fromBase64) return Uint8Array.fromBase64(base64);
  const text = atob(base64), bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  return bytes;
}

const packed = (id) => bytes_of(document.getElementById(id).textContent);
/** A stream of what is compressed in the file; the module is compiled while it is unpacked. */
function unpacked(id, type) {
  const stream = new Blob([packed(id)]).stream().pipeThrough(new DecompressionStream('gzip'));
  return new Response(stream, { headers: { 'Content-Type': type } });
}

const book = { worker: null, waiting: new Map(), next: 1, said: null };

function post(message) {
  const id = book.next++;
  return new Promise((resolve) => {
    book.waiting.set(id, resolve);
    book.worker.postMessage({ id, ...message });
  });
}

/** Opens the book; gives what was said of it: packs, notices, what was left out. */
async function open_book() {
  const script = new TextDecoder().decode(packed('worker'));
  book.worker = new Worker(URL.createObjectURL(new Blob([script], { type: 'text/javascript' })));
  book.worker.onmessage = ({ data }) => {
    const resolve = book.waiting.get(data.id);
    book.waiting.delete(data.id);
    resolve(JSON.parse(data.answer));
  };
  const compiled = WebAssembly.compileStreaming(unpacked('module', 'application/wasm'));
  const [said, read] = await Promise.all([unpacked('packed', 'application/json').json(), unpacked('carried', 'application/octet-stream').arrayBuffer()]);
  book.said = said;
  const module = await compiled;
  const today = new Date().toISOString().slice(0, 10);
  return post({ module, read: new Uint8Array(read), open: { today, demo: book.said.demo, packs: book.said.packs } });
}

/** Asks; `forms` are those of the module. A fault has a `message`. */
function ask(words, forms) {
  return post({ operation: 2, said: { words, forms } });
}

/** The options of a command with their words. */
function options_of(command) {
  return post({ operation: 3, said: { command } });
}
