// The views: a question each. A view has a form whose fields are those of the address, and an answer below it.

const MATERIALS = ['polymer', 'resin'];
const lists = {};

/** Records of these kinds as choices: id without its kind, and name. */
async function listed(...kinds) {
  const all = [];
  for (const kind of kinds) {
    lists[kind] ??= ask(['find', '--kind', kind, '--limit', '10000'], ['json']);
    const said = await lists[kind];
    for (const one of said.json?.results ?? []) all.push([one.id.split('/')[1], one.name + (one.invented ? ' (invented)' : '')]);
  }
  return all;
}

/** Words of the program that are no question of a page: files, formats, and what the page sets itself. */
const OWN = new Set(['out', 'drawing', 'profile', 'solid', 'hole-table', 'format', 'color', 'force', 'pack', 'rehash', 'help', 'full', 'strict', 'draws', 'seed', 'trace', 'assumptions', 'calibration', 'plot', 'plugin', 'plugins-allowed', 'limit']);

/** A text field of a form, bound to a field of the address. */
function text_field(view, name, label, attributes = {}, hint = null) {
  const input = make('input', { name, value: view.fields.get(name) ?? '', autocomplete: 'off', spellcheck: 'false', ...attributes });
  input.addEventListener('input', () => view.set(name, input.value.trim()));
  return field(label, input, hint);
}

function select_field(view, name, label, values) {
  const now = view.fields.get(name) ?? '';
  const input = make('select', { name }, ...values.map(([value, text]) => make('option', { value, selected: value === now }, text)));
  input.addEventListener('input', () => view.set(name, input.value));
  return field(label, input);
}

/** A quantity as a slider with its text: moving one moves the other. */
function slider_field(view, name, label, unit, low, high, step) {
  const number = (text) => parseFloat(text) || low;
  const range = make('input', { type: 'range', min: low, max: high, step, value: number(view.fields.get(name)), 'aria-label': `${label}, slider` });
  const text = make('input', { name, value: view.fields.get(name) ?? '', autocomplete: 'off', placeholder: `${high / 2}${unit}` });
  range.addEventListener('input', () => view.set(name, (text.value = `${range.value}${unit}`)));
  text.addEventListener('input', () => { range.value = number(text.value); view.set(name, text.value.trim()); });
  return make('div', {}, field(label, text), range);
}

function check_fields(view, name, legend, words) {
  const chosen = new Set(view.fields.getAll(name));
  const boxes = words.map((word) => make('label', {}, make('input', { type: 'checkbox', value: word, checked: chosen.has(word), oninput: change }), word));
  function change({ target }) {
    if (target.checked) chosen.add(target.value); else chosen.delete(target.value);
    view.set(name, [...chosen]);
  }
  return make('fieldset', { class: 'whole' }, make('legend', {}, legend), ...boxes);
}

/** Every other option of a command: those in use, and one more to choose. */
async function more_fields(view, command, shown) {
  const all = (await options_of(command)).options.filter((o) => !OWN.has(o.name) && !shown.includes(o.name));
  const place = make('div', { class: 'whole row' });
  const box = (option) => {
    if (!option.takes) return check_fields(view, option.name, option.means, ['true']);
    const words = option.words.length ? [['', 'not said'], ...option.words.map((w) => [w, w])] : null;
    return words ? select_field(view, option.name, option.name, words) : text_field(view, option.name, option.name, { title: option.means });
  };
  for (const option of all) if (view.fields.has(option.name)) place.append(box(option));
  const add = make('select', { 'aria-label': 'One more condition' }, make('option', { value: '' }, 'One more condition …'), ...all.map((o) => make('option', { value: o.name }, `${o.name}: ${o.means ?? ''}`.slice(0, 90))));
  add.addEventListener('input', () => {
    const option = all.find((o) => o.name === add.value);
    if (option) add.before(box(option));
    add.value = '';
  });
  place.append(add);
  return place;
}

/** Fields of the address as options of a command, without those of the page itself. */
function as_options(fields, without = []) {
  const said = {};
  for (const name of new Set(fields.keys())) {
    if (!without.includes(name)) said[name] = fields.getAll(name).map((value) => (value === 'true' ? true : value));
  }
  return options(said);
}

const details = (summary, ...children) => make('details', {}, make('summary', {}, summary), ...children);

// Thread

const QUICK = ['--draws', '1000'], DRAWN = ['--drawing', 'hole.svg'];

async function thread_form(view) {
  const [materials, inserts, adhesives, processes, without] = await Promise.all([
    listed(...MATERIALS), listed('insert'), listed('adhesive'), listed('process'),
    options_of('fasten').then((said) => said.options.find((o) => o.name === 'without').words),
  ]);
  const shown = ['material', 'thread', 'length', 'need', 'method', 'insert', 'adhesive', 'process', 'without'];
  return make('form', { 'aria-label': 'Which thread will hold?' },
    choices('materials', materials), choices('inserts', inserts), choices('adhesives', adhesives), choices('processes', processes),
    text_field(view, 'material', 'Material of the part', { list: 'materials' }),
    text_field(view, 'thread', 'Thread'),
    slider_field(view, 'length', 'Engaged length', 'mm', 2, 25, 0.1),
    slider_field(view, 'need', 'Load it must hold', 'N', 0, 2000, 10),
    text_field(view, 'insert', 'Insert', { list: 'inserts' }),
    text_field(view, 'adhesive', 'Glue', { list: 'adhesives' }),
    text_field(view, 'process', 'Printer and settings', { list: 'processes' }),
    check_fields(view, 'without', 'The bench has no', without),
    await more_fields(view, 'fasten', shown));
}

/** The question, first with few draws, then with all; a joint without a shape has no drawing. */
async function thread_answer(view, latest) {
  const words = ['fasten', ...as_options(view.fields)];
  const put = async (more, forms) => {
    const said = await ask([...words, ...more, ...DRAWN], forms);
    return said.message?.includes('shape to draw') ? ask([...words, ...more], forms) : said;
  };
  const quick = await put(QUICK, ['brief', 'json']);
  if (!latest()) return;
  view.show(await thread_parts(view, quick, words));
  if (quick.message) return;
  await view.rest();
  if (!latest()) return;
  const whole = await put([], ['brief', 'page', 'json']);
  if (latest()) view.show(await thread_parts(view, whole, words));
}

const si = (amount) => amount?.si ?? null;

/** Loads measured on a joint's own series and on those beside it. */
async function specimens(candidate) {
  const dots = [];
  for (const id of [...candidate.evidence.combination, ...candidate.evidence.beside].slice(0, 12)) {
    lists[id] ??= ask(['series', id], ['json']);
    const said = await lists[id];
    if (said.json?.quantity === 'pull_out_load') for (const one of said.json.values ?? []) dots.push({ value: one.value.si, held: one.held });
  }
  return dots;
}

async function thread_parts(view, said, words) {
  if (said.message) return [wrong(said)];
  const { best, candidates, ask: asked } = said.json;
  const same = (c) => best && c.method === best.method && c.insert === best.insert && c.adhesive === best.adhesive;
  const lead = candidates.find(same) ?? candidates[0];
  // The other methods stand in a table of their own, with buttons; what would change the answer always stands below it.
  const doubts = new Set(said.json.would_change.map((one) => one.what));
  const left = make('section', { 'aria-label': 'Answer' }, ...laid_out(said.brief.filter((block) => block.is !== 'table' && !doubts.has(block.label))));
  if (doubts.size) left.append(make('h3', {}, 'What would change this answer'), ...laid_out(said.json.would_change.map((one) => ({ is: 'field', label: one.what, text: one.text }))));
  if (lead?.load || asked.need) left.append(await strip_of(lead, asked));
  left.append(said_line(said.command.replace(/ --drawing hole\.svg| --draws 1000/g, '')), saves(words));
  const right = make('section', { 'aria-label': 'Hole and steps' });
  const drawing = said.files.find((f) => f.name === 'hole.svg');
  if (drawing) right.append(drawing_of(drawing.text, lead));
  if (lead?.steps.length) right.append(make('h3', {}, 'Steps'), make('ol', {}, ...lead.steps.map((s) => make('li', {}, ...led(s)))));
  const below = make('section', { class: 'screen', 'aria-label': 'Ways to make it' }, make('h3', {}, 'Ways to make it'), ranking(view, candidates, lead));
  const rests = lead ? make('section', { class: 'screen', 'aria-label': 'Rests on' }, make('h3', {}, 'Rests on'), origin(lead)) : null;
  return [make('div', { class: 'answer two' }, left, right), below, rests, said.page && details('Everything that was computed', ...laid_out(said.page))];
}

async function strip_of(lead, asked) {
  const dots = lead ? await specimens(lead) : [];
  const load = lead?.load;
  const strip = load_strip({ low: si(load?.low), middle: si(load?.median), high: si(load?.high), bound: si(lead?.design_load), need: si(asked.need), dots, unit: 'N' });
  const words = ['The box spans the 90 % band, the thin line is its median', lead?.design_load && `the thick one the design load, ${lead.design_load.text}`, dots.length && `the ${dots.length} circles are measured specimens of ${[...lead.evidence.combination, ...lead.evidence.beside].join(', ')}`].filter(Boolean);
  return make('figure', {}, strip, make('figcaption', {}, ...led(words.join('; ') + '.')));
}

function drawing_of(text, lead) {
  const source = URL.createObjectURL(new Blob([text], { type: 'image/svg+xml' }));
  const image = make('img', { src: source, alt: `Dimensioned half-section of the hole for ${lead?.title ?? 'the joint'}; its sizes stand in the answer`, onload: () => URL.revokeObjectURL(source) });
  const larger = make('button', { type: 'button', class: 'screen', 'aria-pressed': 'false', onclick: () => larger.setAttribute('aria-pressed', String(frame.classList.toggle('large'))) }, 'Larger');
  const frame = make('div', { class: 'wide', tabindex: '0', role: 'region', 'aria-label': 'Drawing' }, image);
  return make('figure', { class: 'drawing' }, frame, make('figcaption', {}, `Half-section of ${lead?.title ?? 'the joint'}. `, larger));
}

function origin(lead) {
  const rows = lead.claims.map((c) => [c.value, c.claim, c.basis, c.source ? 'source/' + c.source : '', c.notes.join('; ')]);
  const known = lead.rules.map((r) => make('li', {}, ...led(`${r.outcome}: ${r.name} (${r.id})`)));
  return make('div', {},
    make('p', {}, ...led(lead.evidence.text)),
    rows.length ? table(['value', 'claim', 'known by', 'source', 'note'], rows, { 'aria-label': 'Claims behind the load' }) : make('p', {}, 'No claim stands behind it.'),
    known.length ? details(`Rules that speak (${known.length})`, make('ul', {}, ...known)) : null,
    lead.missing.length ? details(`Missing (${lead.missing.length})`, make('ul', {}, ...lead.missing.map((m) => make('li', {}, ...led(`${m.what}: ${m.settle}`))))) : null,
    lead.assumptions.length ? details(`Assumptions (${lead.assumptions.length})`, table(['assumption', 'value', 'kind'], lead.assumptions.map((a) => [a.name, a.value, a.kind]), { 'aria-label': 'Assumptions' })) : null);
}

function ranking(view, candidates, lead) {
  const row = (c) => {
    const choose = () => view.set_all({ method: c.method, insert: c.insert?.split('/')[1] ?? '', adhesive: c.adhesive?.split('/')[1] ?? '' });
    const of = [c.insert, c.adhesive].filter(Boolean).map((id) => id.split('/')[1]).join(', ');
    return make('tr', { 'aria-current': c === lead && 'true' },
      make('td', {}, make('button', { type: 'button', onclick: choose }, c.title)),
      make('td', { 'data-label': 'with' }, of), make('td', { 'data-label': 'verdict' }, toned(book.verdicts[c.verdict] ?? c.verdict)),
      make('td', { 'data-label': 'design load' }, c.design_load?.text ?? ''), make('td', { 'data-label': 'because' }, ...led((c.alternative ? 'alternative; ' : '') + (c.because[0] ?? ''))));
  };
  const all = view.fields.get('method') ? make('button', { type: 'button', onclick: () => view.set_all({ method: '', insert: '', adhesive: '' }) }, 'All methods') : null;
  return make('div', {}, all, table(['method', 'with', 'verdict', 'design load', 'because'], candidates.map(row), { 'aria-label': 'Ways to make it' }));
}

/** Buttons that save what the program would write. */
function saves(words) {
  const file = async (option, name, type) => {
    const said = await ask([...words, option, name], []);
    if (said.message) alert(said.message); else save(name, content(said.files.find((f) => f.name === name)), type);
  };
  const text = async (format, name, type) => save(name, (await ask([...words, '--format', format], ['text'])).text, type);
  const button = (label, action) => make('button', { type: 'button', onclick: action }, label);
  return make('div', { class: 'row screen' },
    button('Print', () => print()),
    button('Drawing (SVG)', () => file('--drawing', 'hole.svg', 'image/svg+xml')),
    button('Hole as a body (STL)', () => file('--solid', 'hole.stl', 'model/stl')),
    button('Profile (CSV)', () => file('--profile', 'hole.csv', 'text/csv')),
    button('Table (CSV)', () => text('csv', 'joints.csv', 'text/csv')),
    button('Sheet (JSON)', () => text('json', 'joint.json', 'application/json')));
}

// Glue

async function glue_form(view) {
  const [materials, adhesives] = await Promise.all([listed(...MATERIALS), listed('adhesive')]);
  return make('form', { 'aria-label': 'Does this glue suit this material?' },
    choices('materials', materials), choices('adhesives', adhesives),
    text_field(view, 'adhesive', 'Glue', { list: 'adhesives' }), text_field(view, 'material', 'Material', { list: 'materials' }),
    await more_fields(view, 'suits', ['adhesive', 'material']));
}

async function glue_answer(view, latest) {
  const pair = ['adhesive', 'material'].map((name) => view.fields.get(name)).filter(Boolean);
  const said = await ask(['suits', ...pair, ...as_options(view.fields, ['adhesive', 'material'])], ['brief', 'page']);
  if (latest()) view.show(plain_parts(said));
}

/** An answer without pictures: the first screen, the line, and the whole. */
function plain_parts(said, ...more) {
  if (said.message) return [wrong(said)];
  const whole = JSON.stringify(said.page) !== JSON.stringify(said.brief);
  return [make('div', { class: 'answer' }, make('section', { 'aria-label': 'Answer' }, ...laid_out(said.brief), ...more, said_line(said.command), whole ? details('Everything', ...laid_out(said.page)) : null))];
}

// Loads

function loads_form(view) {
  return make('form', { 'aria-label': 'What do these loads say?' },
    make('div', { class: 'whole' }, text_field(view, 'loads', 'Loads', {}, '812, 857, 790; a stroke parts batches: 812, 857 / 655, 702')),
    select_field(view, 'unit', 'Unit', ['N', 'kN', 'kgf', 'lbf'].map((u) => [u, u])));
}

async function loads_answer(view, latest) {
  const loads = view.fields.get('loads');
  if (!loads) return view.show([make('p', {}, 'Type in the loads at which specimens failed: three are enough to begin with.')]);
  const unit = view.fields.get('unit') || 'N';
  const words = ['series', '--loads', loads.replaceAll(' ', ''), '--unit', unit];
  const [said, whole] = await Promise.all([ask(words, ['brief', 'json']), ask([...words, '--full'], ['page'])]);
  if (!latest()) return;
  if (said.message) return view.show([wrong(said)]);
  said.page = whole.page;
  const { values, bounds, ci } = said.json;
  const dots = values.map((v) => ({ value: v.value.value, held: v.held }));
  const mean = ci?.mean;
  const strip = load_strip({ low: mean?.low.value, middle: mean && (mean.low.value + mean.high.value) / 2, high: mean?.high.value, bound: bounds[0]?.value.value, need: null, dots, unit });
  const caption = 'Circles: the specimens. Box: 95 % interval of the mean. Thick line: ' + (bounds[0]?.title ?? 'no bound') + '.';
  view.show(plain_parts(said, make('figure', {}, strip, make('figcaption', {}, caption)), ...laid_out(part_of(said.page, 'What further'))));
}

/** The part of a page below the heading that begins so. */
function part_of(blocks, begins) {
  const from = blocks.findIndex((block) => block.is === 'heading' && block.text.startsWith(begins));
  const rest = blocks.slice(from + 1).findIndex((block) => block.is === 'heading');
  return from < 0 ? [] : blocks.slice(from, rest < 0 ? undefined : from + 1 + rest);
}

// Look up

function find_form(view) {
  return make('form', { 'aria-label': 'Look a record up' },
    text_field(view, 'words', 'Words'),
    select_field(view, 'kind', 'Kind', [['', 'every kind'], ...[...book.kinds].map((k) => [k, k])]),
    text_field(view, 'family', 'Family'),
    text_field(view, 'where', 'Property', {}, 'tensile_strength >= 40 MPa'));
}

async function find_answer(view, latest) {
  const words = (view.fields.get('words') ?? '').split(/\s+/).filter(Boolean);
  if (!view.fields.toString()) return view.show([make('p', {}, 'Type a word, choose a kind, or a property with its unit.')]);
  const said = await ask(['find', ...words, ...as_options(view.fields, ['words']), '--limit', '200'], ['brief', 'json']);
  if (!latest()) return;
  if (said.message) return view.show([wrong(said)]);
  const rows = said.json.results.map((r) => [r.id, r.name + (r.invented ? ' (invented)' : ''), r.family ?? '', r.matched.map((m) => m.written).filter(Boolean).join('; ')]);
  const ids = said.json.results.filter((r) => MATERIALS.includes(r.kind) || r.kind === 'adhesive').slice(0, 8).map((r) => r.id);
  view.show([make('div', { class: 'answer' }, make('section', { 'aria-label': 'Found' },
    make('p', {}, `${said.json.total} found`), table(['record', 'name', 'family', 'matched'], rows, { 'aria-label': 'Records found' }),
    ids.length > 1 ? make('p', {}, make('a', { href: address('compare', { records: ids, property: (view.fields.get('where') ?? '').split(/\s/)[0] }) }, 'Compare these side by side')) : null,
    said_line(said.command)))]);
}

// A record, a claim, any line

async function record_answer(view, latest) {
  const id = view.fields.get('id') ?? '';
  const said = await ask(['show', id], ['brief', 'page', 'json']);
  if (!latest()) return;
  if (said.message) return view.show([wrong(said)]);
  const claims = (said.json.properties ?? []).flatMap((p) => p.claims.map((c) => [p.title, c.written, c.address, [c.basis, c.read && `read: ${c.read}`].filter(Boolean).join(', '), c.source ? 'source/' + c.source : '', c.locator ?? '']));
  const shown = claims.length ? details(`Every claim (${claims.length})`, table(['property', 'value', 'claim', 'known by', 'source', 'where'], claims, { 'aria-label': 'Claims' })) : null;
  const compare = claims.length ? make('p', {}, make('a', { href: address('compare', { records: [said.json.id] }) }, 'Compare with others')) : null;
  view.show(plain_parts(said, shown, compare));
}

async function claim_answer(view, latest) {
  const at = view.fields.get('at') ?? '';
  const said = await ask(['trace', at], ['brief', 'page', 'json']);
  if (!latest()) return;
  const sources = [...new Set((said.json?.steps ?? []).map((s) => s.facts?.source).filter(Boolean))];
  view.show(plain_parts(said, make('p', {}, ...led(['Record: ' + at.split(':')[0], ...sources.map((s) => 'source/' + s)].join('; source: ')))));
}

const line_form = (view) => make('form', { 'aria-label': 'Any question of the program' }, make('div', { class: 'whole' }, text_field(view, 'say', 'A line of the program', {}, 'thread M3 --engaged 5.7mm; formula; why wetting-margin; plan --cv 10% --tell 20%; fasten --help')));

async function line_answer(view, latest) {
  const line = view.fields.get('say') ?? '';
  const said = await ask(split_line(line || '--help'), ['brief', 'page']);
  if (latest()) view.show(plain_parts(said));
}

// Compare

async function compare_form(view) {
  const all = await listed(...MATERIALS, 'adhesive');
  const add = make('input', { list: 'records', 'aria-label': 'One more record' });
  const records = view.fields.getAll('records');
  add.addEventListener('change', async () => {
    const said = await ask(['show', add.value], ['json']);
    if (said.json?.id) location.hash = address('compare', { property: view.fields.get('property'), records: [...new Set([...records, said.json.id])] });
  });
  const drop = (id) => make('button', { type: 'button', 'aria-label': `Take ${id} out`, onclick: () => view.go({ property: view.fields.get('property'), records: records.filter((r) => r !== id) }) }, `${id} ×`);
  const properties = new Map();
  for (const id of records) {
    const said = await ask(['show', id], ['json']);
    for (const p of said.json?.properties ?? []) properties.set(p.property, p.title);
  }
  return make('form', { 'aria-label': 'Compare claims' }, choices('records', all),
    select_field(view, 'property', 'Property', [['', 'choose'], ...properties]),
    field('One more record', add), make('div', { class: 'whole row' }, ...records.map(drop)));
}

async function compare_answer(view, latest) {
  const records = view.fields.getAll('records'), property = view.fields.get('property');
  if (!records.length || !property) return view.show([make('p', {}, 'Add records, and choose a property that they have.')]);
  const rows = [], strips = [];
  for (const id of records) {
    const said = await ask(['show', id], ['json']);
    const found = (said.json?.properties ?? []).find((p) => p.property === property);
    for (const c of found?.claims ?? []) {
      rows.push([id, c.written, c.address, [c.basis, c.read && `read: ${c.read}`].filter(Boolean).join(', '), c.source ? 'source/' + c.source : '']);
      const [low, high] = span(c);
      if (low) strips.push({ label: `${id}: ${c.written} (${c.basis})`, low, high });
    }
    if (!found) rows.push([id, 'no value', '', '', '']);
  }
  if (!latest()) return;
  const scaled = in_one_unit(strips);
  view.show([make('div', { class: 'answer' }, make('section', { 'aria-label': 'Claims side by side' }, make('h2', {}, property.replaceAll('_', ' ')),
    strips.length ? make('figure', {}, value_strips(scaled.rows, scaled.unit), make('figcaption', {}, 'A circle is a value, a box a range, as claimed.')) : null,
    table(['record', 'value', 'claim', 'known by', 'source'], rows, { 'aria-label': 'Claims' })))]);
}

/** Low and high of a claim, as amounts; nothing for one that is no number. */
function span(claim) {
  const low = claim.value ?? claim.low, high = claim.value ?? claim.high;
  return typeof low?.si === 'number' && typeof high?.si === 'number' ? [low, high] : [];
}

/** Amounts in the unit of the first: the factor between a number and its SI value is that of its own unit. */
function in_one_unit(strips) {
  const first = strips.find((s) => s.low.value)?.low;
  const same = first && strips.every((s) => s.low.unit === first.unit);
  const number = (amount) => (same ? amount.value : amount.si);
  return { unit: same ? first.unit : '(SI)', rows: strips.map((s) => ({ label: s.label, low: number(s.low), high: number(s.high) })) };
}

// Matrix

function matrix_form(view) {
  return make('form', { 'aria-label': 'What was measured' },
    select_field(view, 'by', 'Columns', [['adhesive', 'glues'], ['method', 'ways to make a thread']]));
}

async function matrix_answer(view, latest) {
  const by = view.fields.get('by') || 'adhesive';
  const said = await ask(['gaps', '--by', by], ['brief', 'page', 'json']);
  if (!latest()) return;
  if (said.message) return view.show([wrong(said)]);
  const columns = [...new Set(said.json.cells.map((c) => c.column))], rows = new Map();
  for (const cell of said.json.cells) rows.set(cell.material, (rows.get(cell.material) ?? new Map()).set(cell.column, cell));
  const leads = (cell) => (by === 'adhesive' ? address('glue', { adhesive: cell.column, material: cell.material }) : address('thread', { material: cell.material, thread: 'M3', length: '6mm', method: cell.column }));
  const sort = (cell) => (cell?.measured || cell?.published ? 'known' : cell?.state === 'nothing' ? 'nothing' : null);
  const td = (cell) => make('td', { class: sort(cell) }, cell ? make('a', { href: leads(cell) }, cell.measured + cell.published ? `${cell.state} (${cell.measured + cell.published})` : cell.state) : '');
  const body = [...rows].map(([material, cells]) => make('tr', {}, make('th', { scope: 'row' }, make('a', { href: address('find', { words: material }) }, material)), ...columns.map((c) => td(cells.get(c)))));
  view.show([make('div', { class: 'answer' }, make('section', { 'aria-label': 'Next tests' }, ...laid_out(said.brief), said_line(said.command)),
    make('section', { 'aria-label': 'Matrix' }, make('h3', {}, 'What is known of each pair'), table(['material', ...columns], body, { class: 'matrix', 'aria-label': 'What is known of each pair' })))]);
}
