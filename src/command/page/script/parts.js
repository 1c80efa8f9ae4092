// Parts of the page. Every text is set as text, never as mark-up.

/** An element with attributes and children; a child that is no element is text. */
function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith('on')) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, '');
    else if (value !== false && value != null) element.setAttribute(name, value);
  }
  element.append(...children.filter((child) => child != null));
  return element;
}

const LED = /gripbook ([a-z]+ [^`;]+)|\b([a-z]+\/[a-z0-9][a-z0-9-]*)(:[a-z_]+(?:#[0-9a-f]+)?)?/g;

/** A text whose ids, claims and command lines are links. */
function led(text) {
  const parts = [];
  let from = 0;
  for (const found of text.matchAll(LED)) {
    const [whole, line, id, claim] = found;
    if (id && !book.kinds.has(id.split('/')[0])) continue;
    parts.push(text.slice(from, found.index));
    const to = line ? address('line', { say: line.trim() }) : claim ? address('claim', { at: id + claim }) : address('record', { id });
    parts.push(make('a', { href: to }, whole));
    from = found.index + whole.length;
  }
  parts.push(text.slice(from));
  return parts;
}

/** A verdict or severity in its colour; other texts as they are. */
function toned(text) {
  const tone = book.tones[text];
  return tone ? make('span', { class: 'tone ' + tone }, text) : text;
}

/** A table from columns and rows of texts or elements. */
function table(columns, rows, attributes) {
  const cell = (value, i) => make('td', { 'data-label': columns[i] }, ...(typeof value === 'string' ? (book.tones[value] ? [toned(value)] : led(value)) : [value]));
  const body = rows.map((row) => (row instanceof Element ? row : make('tr', {}, ...row.map(cell))));
  const head = make('tr', {}, ...columns.map((column) => (column ? make('th', { scope: 'col' }, column) : make('td'))));
  const whole = make('table', attributes, make('thead', {}, head), make('tbody', {}, ...body));
  return make('div', { class: 'wide', tabindex: '0', role: 'region', 'aria-label': `${attributes['aria-label']}, table` }, whole);
}

/** The parts of an answer as the module gives them; what a terminal is told of its options has no place here. */
function laid_out(blocks) {
  const out = [];
  let list = null;
  const heading = blocks.some((block) => block.is === 'title') ? 'h3' : 'h2';
  let below = null;
  const into = (tag) => {
    if (!list || list.tagName !== tag.toUpperCase()) out.push((list = make(tag)));
    return list;
  };
  for (const block of blocks) {
    if (block.text?.startsWith('--full')) continue;
    const inset = block.indent ? { class: 'in' + Math.min(block.indent, 3) } : {};
    if (block.is === 'item') into('ul').append(make('li', inset, ...led(block.text)));
    else if (block.is === 'field') into('dl').append(make('dt', {}, block.label), make('dd', {}, ...led(block.text)));
    else {
      list = null;
      if (block.is === 'heading' || block.is === 'title') below = block.text;
      out.push(one_part(block, inset, heading, below));
    }
  }
  return out;
}

function one_part(block, inset, heading, below) {
  switch (block.is) {
    case 'title': {
      const at = block.tone ? block.text.lastIndexOf(': ') + 2 : block.text.length;
      return make('h2', {}, block.text.slice(0, at), block.tone && make('span', { class: 'tone ' + block.tone }, block.text.slice(at)));
    }
    case 'heading': return make(heading, {}, block.text);
    case 'table': return table(block.columns, block.rows, { 'aria-label': below ?? 'Values' });
    case 'spot': return make('p', {}, make('b', {}, block.place), ' ', toned(block.severity), ' ', block.rule);
    case 'verbatim': return make('pre', {}, block.text);
    default: return make('p', inset, ...led(block.text));
  }
}

/** Gives each landmark below a name of its own: a second one of the same name gets its number. */
function told_apart(root) {
  const seen = new Map();
  for (const landmark of root.querySelectorAll('section[aria-label], [role="region"]')) {
    const name = landmark.getAttribute('aria-label');
    const turn = (seen.get(name) ?? 0) + 1;
    seen.set(name, turn);
    if (turn > 1) landmark.setAttribute('aria-label', `${name} ${turn}`);
  }
}

/** What could not be answered, and what to do. */
function wrong(fault) {
  return make('div', { class: 'wrong', role: 'alert' }, fault.message, fault.help ? make('p', {}, ...led(fault.help)) : null);
}

/** The line that gives the same answer at a terminal. */
function said_line(command) {
  return make('p', { class: 'line screen' }, 'The same at a terminal: ', make('code', {}, command));
}

/** A labelled field of a form, with a hint below it. */
function field(label, input, hint) {
  return make('label', { class: 'field' }, label, input, hint ? make('small', {}, hint) : null);
}

/** A list of choices below a text field. */
function choices(id, values) {
  return make('datalist', { id }, ...values.map(([value, text]) => make('option', { value }, text)));
}

/** The content of a file that the module hands over. */
function content(file) {
  return file.text ?? bytes_of(file.base64);
}

/** Saves a text or bytes as a file. */
function save(name, whole, type) {
  const link = make('a', { href: URL.createObjectURL(new Blob([whole], { type })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}
