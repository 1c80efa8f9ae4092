// The module: unpacked from the file, run in a worker, asked with the words of a command line.

const packed = (id) => bytes_of(document.getElementById(id).textContent);
/** What is compressed in the file. */
const unpacked = (id) => new Response(new Blob([packed(id)]).stream().pipeThrough(new DecompressionStream('gzip')));

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
  module_in_pieces.end();
  const [said, read] = await Promise.all([unpacked('packed').json(), unpacked('carried').arrayBuffer()]);
  book.said = said;
  const module = await module_in_pieces.compiled;
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
