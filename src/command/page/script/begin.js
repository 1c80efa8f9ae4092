// First in the file: the module is unpacked and compiled piece by piece, while the rest of the file is still being read.

/** The bytes of a base64 text: by the browser where it can, else by a loop. */
function bytes_of(base64) {
  if (Uint8Array.fromBase64) return Uint8Array.fromBase64(base64);
  const text = atob(base64), bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  return bytes;
}

const module_in_pieces = (() => {
  const unpacking = new DecompressionStream('gzip'), pieces = unpacking.writable.getWriter();
  const headers = { 'Content-Type': 'application/wasm' };
  const compiled = WebAssembly.compileStreaming(new Response(unpacking.readable, { headers }));
  // A fault is told where the module is waited for.
  for (const promise of [compiled, pieces.closed]) promise.catch(() => {});
  const put = (work) => work.catch(() => {});
  return {
    compiled,
    /** Takes the piece that stands before the running script. */
    take: () => { const piece = document.currentScript.previousElementSibling; put(pieces.write(bytes_of(piece.textContent))); piece.remove(); },
    end: () => put(pieces.close()),
  };
})();
