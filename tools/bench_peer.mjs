// Peer of `gripbook check` for tools/bench: reads every record of a pack with js-yaml and checks it with ajv.
// It checks the schema only: no units, no references, no line numbers.
//
//     node bench_peer.mjs SCHEMAS PACK      (ajv and js-yaml must be found beside this file)
import fs from 'node:fs';
import path from 'node:path';
import yaml from 'js-yaml';
import { Ajv2020 } from 'ajv/dist/2020.js';

const [schemaFolder, pack] = process.argv.slice(2);
const ajv = new Ajv2020({ strict: false, allErrors: true, validateFormats: false });
const folders = new Map();
for (const name of fs.readdirSync(schemaFolder).sort()) {
  if (!name.endsWith('.schema.json') || name === 'meta.schema.json') continue;
  const schema = JSON.parse(fs.readFileSync(path.join(schemaFolder, name), 'utf8'));
  ajv.addSchema(schema);
  if (schema.folder) folders.set(schema.folder, schema.$id);
}
let records = 0;
let wrong = 0;
for (const [folder, id] of folders) {
  const here = path.join(pack, folder);
  if (!fs.existsSync(here)) continue;
  const validate = ajv.getSchema(id);
  for (const name of fs.readdirSync(here).sort()) {
    if (!name.endsWith('.yaml')) continue;
    // The core schema leaves dates as text, as the records mean them.
    const record = yaml.load(fs.readFileSync(path.join(here, name), 'utf8'), { schema: yaml.CORE_SCHEMA });
    records += 1;
    if (!validate(record)) {
      wrong += 1;
      if (wrong < 4) process.stderr.write(`${folder}/${name}: ${ajv.errorsText(validate.errors)}\n`);
    }
  }
}
process.stdout.write(`${records} records, ${wrong} wrong\n`);
process.exit(wrong ? 1 : 0);
