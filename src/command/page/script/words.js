'use strict';
// Addresses: every state of the page is one, `#view?name=value`, so that it can be shared, kept and gone back to.

/** The view and its fields from the address. */
function read_address() {
  const [view, rest] = location.hash.slice(1).split(/\?(.*)/s);
  return { view: view || 'thread', fields: new URLSearchParams(rest || '') };
}

/** The address of a view with these fields; empty ones are left out. */
function address(view, fields) {
  const kept = new URLSearchParams();
  for (const [name, value] of Object.entries(fields)) {
    for (const one of [value].flat()) if (one !== '' && one != null) kept.append(name, one);
  }
  const text = kept.toString();
  return '#' + view + (text ? '?' + text : '');
}

/** The words of a command line: spaces part them, quotes hold them together. */
function split_line(line) {
  const words = [];
  for (const [, single, double, bare] of line.matchAll(/'([^']*)'|"([^"]*)"|(\S+)/g)) words.push(single ?? double ?? bare);
  return words[0] === 'gripbook' ? words.slice(1) : words;
}

/** Options of a command from fields: `{need: '300N'}` becomes `--need 300N`; `true` is an option without a value. */
function options(fields) {
  const words = [];
  for (const [name, value] of Object.entries(fields)) {
    for (const one of [value].flat()) {
      if (one === true) words.push('--' + name);
      else if (one) words.push('--' + name, one);
    }
  }
  return words;
}
