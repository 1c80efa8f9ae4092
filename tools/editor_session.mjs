// A session of a YAML language server, as an editor holds it: opens a record whose first line names its schema, and writes
// diagnostics, completions and hover texts as JSON.
//
// Use: node editor_session.mjs SERVER FILE LINE:COLUMN... (lines from 1, columns from 0)
import { spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { pathToFileURL } from 'node:url';

const [server, file, ...spots] = process.argv.slice(2);
const child = spawn(server, ['--stdio'], { stdio: ['pipe', 'pipe', 'inherit'] });
const waiting = new Map();
let asked = 0;
let rest = Buffer.alloc(0);
let settled;
const diagnosed = new Promise((resolve) => { settled = resolve; });

const send = (message) => {
  const text = JSON.stringify({ jsonrpc: '2.0', ...message });
  child.stdin.write(`Content-Length: ${Buffer.byteLength(text)}\r\n\r\n${text}`);
};
const ask = (method, params) => new Promise((resolve) => {
  asked += 1;
  waiting.set(asked, resolve);
  send({ id: asked, method, params });
});
const take = (message) => {
  if (message.method === 'textDocument/publishDiagnostics') settled(message.params.diagnostics);
  else if (message.method && message.id !== undefined) {
    const result = message.method === 'workspace/configuration' ? message.params.items.map(() => null) : null;
    send({ id: message.id, result });
  } else if (waiting.has(message.id)) {
    waiting.get(message.id)(message.result);
    waiting.delete(message.id);
  }
};
child.stdout.on('data', (part) => {
  rest = Buffer.concat([rest, part]);
  for (;;) {
    const end = rest.indexOf('\r\n\r\n');
    if (end < 0) return;
    const length = Number(/Content-Length: (\d+)/i.exec(rest.subarray(0, end).toString())[1]);
    if (rest.length < end + 4 + length) return;
    take(JSON.parse(rest.subarray(end + 4, end + 4 + length).toString()));
    rest = rest.subarray(end + 4 + length);
  }
});

const uri = pathToFileURL(file).href;
await ask('initialize', {
  processId: process.pid,
  rootUri: pathToFileURL(dirname(file)).href,
  capabilities: { textDocument: { publishDiagnostics: {} }, workspace: { configuration: true } },
});
send({ method: 'initialized', params: {} });
const settings = { yaml: { validate: true, completion: true, hover: true, schemaStore: { enable: false } } };
send({ method: 'workspace/didChangeConfiguration', params: { settings } });
const text = readFileSync(file, 'utf8');
send({ method: 'textDocument/didOpen', params: { textDocument: { uri, languageId: 'yaml', version: 1, text } } });

const said = { diagnostics: [], spots: {} };
for (const d of await diagnosed) said.diagnostics.push({ line: d.range.start.line + 1, message: d.message });
for (const spot of spots) {
  const [line, character] = spot.split(':').map(Number);
  const at = { textDocument: { uri }, position: { line: line - 1, character } };
  const list = await ask('textDocument/completion', at);
  const hover = await ask('textDocument/hover', at);
  said.spots[spot] = { completions: (list?.items ?? []).map((i) => i.label), hover: hover?.contents?.value ?? null };
}
process.stdout.write(JSON.stringify(said), () => { child.kill(); process.exit(0); });
