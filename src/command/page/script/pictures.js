// Pictures: strips of loads and values. What they show stands in words beside them.

function svg(tag, attributes = {}, ...children) {
  const element = document.createElementNS('http://www.w3.org/2000/svg', tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...children);
  return element;
}

/** Steps of 1, 2 or 5 that part a span into about so many. */
function ticks(low, high, about = 5) {
  const raw = (high - low) / about || 1;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = power * [1, 2, 5, 10].find((s) => s * power >= raw);
  const all = [];
  for (let at = Math.ceil(low / step) * step; at <= high + step * 1e-9; at += step) all.push(Number(at.toPrecision(12)));
  return all;
}

/** Half the width of a label at an end of an axis. */
const LEFT = 16;

/** As wide as there is room, so that letters keep their size on a phone. */
const wide = () => Math.max(280, Math.min(640, document.getElementById('main').clientWidth - 32));

/** A label near an end stays inside. */
const anchor = (x, width) => (x > width - 40 ? 'end' : x < 20 ? 'start' : 'middle');

/** A scale from values to places, with its axis. */
function scale(values, unit, height) {
  const width = wide();
  const low = Math.min(0, ...values), high = Math.max(...values) * 1.06 || 1;
  const x = (value) => LEFT + ((value - low) / (high - low)) * (width - 2 * LEFT);
  const axis = [svg('line', { class: 'axis', x1: LEFT, x2: width - LEFT, y1: height - 22, y2: height - 22 })];
  for (const at of ticks(low, high, width / 130)) {
    axis.push(svg('line', { class: 'tick', x1: x(at), x2: x(at), y1: 14, y2: height - 22 }));
    axis.push(svg('text', { class: 'faint', x: x(at), y: height - 6, 'text-anchor': anchor(x(at), width) }, `${at} ${unit}`));
  }
  return { x, axis };
}

function picture(height, label, ...children) {
  return svg('svg', { viewBox: `0 0 ${wide()} ${height}`, role: 'img', 'aria-label': label }, ...children);
}

/** The load of a joint: its band from low to high, its middle, the bound to design with, the need, and what was measured. */
function load_strip({ low, middle, high, bound, need, dots, unit }) {
  const values = [low, high, bound, need, ...dots.map((d) => d.value)].filter((v) => v != null);
  const { x, axis } = scale(values, unit, 96);
  const parts = [...axis];
  const upright = (name, value, y1, y2) => svg('line', { class: name, x1: x(value), x2: x(value), y1, y2 });
  if (low != null) parts.push(svg('rect', { class: 'band', x: x(low), y: 34, width: Math.max(1, x(high) - x(low)), height: 18 }), upright('middle', middle, 28, 58));
  if (bound != null) parts.push(upright('bound', bound, 24, 62));
  if (need != null) parts.push(upright('need', need, 16, 74), svg('text', { x: x(need), y: 12, 'text-anchor': anchor(x(need), wide()) }, 'need'));
  for (const dot of dots) parts.push(svg('circle', { class: dot.held ? 'dot held' : 'dot', cx: x(dot.value), cy: 43, r: 5 }));
  return picture(96, 'Strip of loads; its numbers stand in the answer beside it', ...parts);
}

/** Values of several things below one another, each a point or a span. */
function value_strips(rows, unit) {
  const height = 24 + rows.length * 34 + 24;
  const { x, axis } = scale(rows.flatMap((r) => [r.low, r.high]), unit, height);
  const parts = [...axis];
  rows.forEach((row, i) => {
    const y = 30 + i * 34;
    parts.push(svg('text', { x: LEFT, y: y - 6 }, row.label));
    if (row.high > row.low) parts.push(svg('rect', { class: 'band', x: x(row.low), y: y - 1, width: Math.max(2, x(row.high) - x(row.low)), height: 9 }));
    else parts.push(svg('circle', { class: 'dot', cx: x(row.low), cy: y + 4, r: 5 }));
  });
  return picture(height, 'Values side by side; the table below has them in words', ...parts);
}
