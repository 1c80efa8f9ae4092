// Questions as people put them, drawn with a seed: the same two hundred every time.

/** Numbers from a seed (mulberry32, public domain). */
function stream(seed) {
  return () => {
    seed = (seed + 0x6d2b79f5) | 0;
    let t = Math.imul(seed ^ (seed >>> 15), 1 | seed);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

export function questions(count) {
  const next = stream(20261129);
  const pick = (list) => list[Math.floor(next() * list.length)];
  const whole = (low, high) => String(Math.floor(low + next() * (high - low)));
  const materials = ['pla', 'petg', 'abs', 'asa', 'pa12', 'tough', 'logger-grey', 'ABS-like resin', 'nylon', 'wood', 'plaa'];
  const glues = ['epoxy-slow', 'cyanoacrylate-thick', 'super glue', 'hot-melt', 'polyurethane', 'acrylic-two-part'];
  const threads = ['M2.5', 'M3', 'M4', 'M5', '#4-40', '1/4-20', 'M7'];
  const sorts = [
    () => ['fasten', pick(materials), pick(threads), whole(3, 15) + 'mm', ...(next() < 0.7 ? [whole(20, 900) + 'N'] : []), '--draws', '300', ...(next() < 0.3 ? ['--place', pick(['dry', 'wet', 'sun'])] : []), ...(next() < 0.3 ? ['--hottest', whole(25, 90) + 'degC'] : []), ...(next() < 0.2 ? ['--without', pick(['heat', 'glue', 'tap'])] : []), ...(next() < 0.2 ? ['--for', pick(['3 months', 'a year', '10 h'])] : [])],
    () => ['suits', pick(glues), pick(materials), ...(next() < 0.4 ? ['--place', pick(['damp', 'wet', 'immersed'])] : []), ...(next() < 0.3 ? ['--gap', `0.${whole(1, 9)}mm`] : [])],
    () => ['series', '--loads', Array.from({ length: 2 + Math.floor(next() * 6) }, () => whole(300, 1200)).join(','), '--unit', pick(['N', 'kgf', 'lbf'])],
    () => ['compare', '--a', [1, 2, 3, 4].map(() => whole(600, 900)).join(','), '--b', [1, 2, 3].map(() => whole(400, 900)).join(','), '--unit', 'N'],
    () => ['find', pick(['tough', 'grey', 'epoxy', 'insert', 'nothing-of-the-kind']), '--limit', '5'],
    () => ['show', pick(['polymer/pla', 'resin/tough', 'insert/heat-set-m3', 'rule/wetting-margin', 'logger-grey', 'nowhere'])],
    () => ['thread', pick(threads), '--engaged', whole(3, 12) + 'mm'],
    () => ['plan', '--cv', whole(4, 25) + '%', '--tell', whole(10, 40) + '%'],
    () => ['formula', 'lame-hoop', `inner=1.${whole(1, 9)}mm`, 'outer=3mm', `pressure=${whole(1, 30)}MPa`],
    () => ['trace', pick(['polymer/pla:density', 'polymer/pla:tg', 'resin/tough:tensile_strength'])],
  ];
  const often = [0, 0, 0, 0, 0, 1, 1, 1, 2, 2, 3, 4, 5, 6, 7, 8, 9];
  return Array.from({ length: count }, () => sorts[pick(often)]());
}
