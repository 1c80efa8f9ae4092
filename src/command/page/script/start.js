// The frame: opens the book, follows the address, keeps form and answer in step.

const VIEWS = {
  thread: { title: 'Thread', form: thread_form, answer: thread_answer, first: { material: 'pla', thread: 'M3', length: '6mm' } },
  glue: { title: 'Glue', form: glue_form, answer: glue_answer, first: { adhesive: 'epoxy-slow', material: 'pla' } },
  loads: { title: 'Loads', form: loads_form, answer: loads_answer, first: {} },
  find: { title: 'Look up', form: find_form, answer: find_answer, first: {} },
  compare: { title: 'Compare', form: compare_form, answer: compare_answer, first: {} },
  matrix: { title: 'Known and not', form: matrix_form, answer: matrix_answer, first: {} },
  line: { title: 'Any line', form: line_form, answer: line_answer, first: {} },
  record: { title: null, form: null, answer: record_answer, first: {} },
  claim: { title: null, form: null, answer: claim_answer, first: {} },
};

const HEADINGS = { thread: 'Which thread will hold?', glue: 'Does this glue suit this material?', loads: 'What do these loads say?', find: 'Look a record up', compare: 'Claims side by side', matrix: 'What was measured, and what to test next', line: 'Any question of the program', record: 'A record of the book', claim: 'Where a value comes from' };

/** How long a field rests before the whole number of draws is computed, ms. */
const REST = 250;

/** A view that is open: its fields, and where its answer goes. */
function opened(name, fields) {
  const main = document.getElementById('main');
  const place = make('div', { id: 'answer', 'aria-live': 'polite' });
  let turn = 0;
  const view = {
    fields,
    show: (parts) => { place.classList.remove('stale'); place.replaceChildren(...parts.filter(Boolean)); told_apart(place); document.body.dataset.answered = String(turn); if (!performance.getEntriesByName('first answer').length) performance.mark('first answer'); },
    rest: () => new Promise((resolve) => setTimeout(resolve, REST)),
    set: (field, value) => view.set_all({ [field]: value }, true),
    go: (all) => { location.hash = address(name, all); },
    /** Other fields: the address follows; while somebody types, the form stays as it is. */
    set_all: (changes, typed = false) => {
      const all = Object.fromEntries([...new Set(fields.keys())].map((key) => [key, fields.getAll(key)]));
      const next = address(name, { ...all, ...changes });
      if (!typed) { location.hash = next; return; }
      history.replaceState(null, '', next);
      for (const [field, value] of Object.entries(changes)) {
        fields.delete(field);
        for (const one of [value].flat()) if (one !== '') fields.append(field, one);
      }
      view.answer();
    },
    answer: async () => {
      const mine = ++turn;
      place.classList.add('stale');
      await VIEWS[name].answer(view, () => mine === turn);
    },
  };
  main.replaceChildren(make('h1', {}, HEADINGS[name]), place);
  return { view, place };
}

async function follow() {
  const { view: name, fields } = read_address();
  const known = VIEWS[name] ? name : 'thread';
  if (!fields.toString()) for (const [field, value] of Object.entries(VIEWS[known].first)) fields.append(field, value);
  delete document.body.dataset.answered;
  for (const link of document.querySelectorAll('#questions a')) {
    if (link.dataset.view === known) link.setAttribute('aria-current', 'page'); else link.removeAttribute('aria-current');
  }
  const { view, place } = opened(known, fields);
  document.title = `${HEADINGS[known]} gripbook`;
  const answered = view.answer();
  if (VIEWS[known].form) {
    const form = await VIEWS[known].form(view);
    form.addEventListener('submit', (event) => event.preventDefault());
    if (place.isConnected) place.before(form);
  }
  await answered;
}

async function start() {
  const nav = document.getElementById('questions');
  for (const [name, { title }] of Object.entries(VIEWS)) if (title) nav.append(make('a', { href: '#' + name, 'data-view': name }, title));
  document.getElementById('skip').addEventListener('click', () => document.getElementById('main').focus());
  const said = await open_book();
  if (said.message) {
    document.getElementById('main').replaceChildren(wrong(said));
    return;
  }
  Object.assign(book, { tones: said.tones, verdicts: said.verdicts, kinds: new Set(said.kinds) });
  document.getElementById('packs').append(`Packs: ${book.said.names.join(', ')}; gripbook ${book.said.version}. `, ...said.notices.map((n) => n + ' '), ...said.left_out.map((l) => l + ' '));
  addEventListener('hashchange', () => { follow().then(() => document.getElementById('main').focus({ preventScroll: true })); scrollTo(0, 0); });
  await follow();
}

start().catch((fault) => document.getElementById('main').replaceChildren(wrong({ message: 'The page cannot start: ' + fault.message, help: 'It needs a browser of the last three years.' })));
