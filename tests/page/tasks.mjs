// What a person does with the page, in a real browser. Usage: node tasks.mjs BOOK.html PROGRAM OUT_FOLDER
// The tools (playwright-core, axe-core) stand in the folder that GRIPBOOK_BROWSER_TOOLS names. One line for each task.
import { createRequire } from 'node:module';
import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { join } from 'node:path';
import { questions } from './questions.mjs';

const tools = createRequire(join(process.env.GRIPBOOK_BROWSER_TOOLS, 'node_modules', 'x'));
const { chromium } = tools('playwright-core');
const axe = readFileSync(tools.resolve('axe-core/axe.min.js'), 'utf8');
const [book, program, out] = process.argv.slice(2);
mkdirSync(out, { recursive: true });
const home = pathToFileURL(book).href;
let failed = 0;

const browser = await chromium.launch({ executablePath: process.env.GRIPBOOK_CHROMIUM || '/usr/bin/chromium', args: ['--no-sandbox'] });
const context = await browser.newContext({ viewport: { width: 800, height: 1000 }, acceptDownloads: true, offline: true });
const asked = [], broken = [];
context.on('request', (request) => { if (!/^(file|blob|data):/.test(request.url())) asked.push(request.url()); });
context.on('console', (message) => { if (message.type() === 'error') broken.push(message.text()); });
context.on('weberror', (fault) => broken.push(String(fault.error())));

function check(holds, what) {
  if (!holds) throw new Error(what);
}

async function task(name, work) {
  try {
    console.log(`ok ${name}${(await work()) ?? ''}`);
  } catch (fault) {
    failed++;
    console.log(`failed ${name}: ${fault.message.split('\n').slice(0, 6).join(' | ')}`);
  }
}

const answered = (page) => page.waitForFunction(() => document.body.dataset.answered && !document.querySelector('#answer.stale'), null, { timeout: 60000 });

async function go(page, hash) {
  await page.goto(home + hash);
  // The same document with another address loads nothing anew.
  await page.waitForSelector('#answer', { timeout: 60000 });
  await answered(page);
}

const page = await context.newPage();
const text = (selector) => page.locator(selector).first().innerText();

await task('it opens and answers without a server or a network', async () => {
  await page.goto(home);
  await answered(page);
  check((await text('#answer h2')).includes('Polylactide'), 'the first answer is about polylactide');
  // From the browser's own clock of the document.
  return `: first answer after ${await page.evaluate(() => Math.round(performance.getEntriesByName('first answer')[0].startTime))} ms`;
});

await task('which thread holds: verdict, load, hole, steps, torque, cautions, what would change it', async () => {
  await go(page, '#thread?material=logger-grey&thread=M3&length=5.7mm&need=150N');
  const whole = await text('#answer');
  for (const part of ['INVENTED DATA', 'suits with care', 'Design load', 'Hole', 'Torque', 'Cautions', 'What would change this answer']) check(whole.includes(part), part + ' is missing');
  check(await page.locator('figure svg circle').count() >= 3, 'measured specimens are dots');
  check(await page.locator('figure.drawing img').evaluate((image) => image.complete && image.naturalWidth > 100), 'the hole is drawn');
  check(await page.locator('table[aria-label="Ways to make it"] tbody tr').count() > 5, 'methods are ranked');
});

await task('a slider gives a new answer and a new drawing', async () => {
  const before = await page.locator('figure.drawing img').getAttribute('src');
  const times = [];
  for (let i = 0; i < 12; i++) {
    times.push(await page.evaluate(async (turn) => {
      const range = document.querySelector('input[type=range]');
      const from = performance.now();
      range.value = 6 + turn * 0.3;
      range.dispatchEvent(new Event('input', { bubbles: true }));
      const place = document.querySelector('#answer');
      while (place.classList.contains('stale')) await new Promise(requestAnimationFrame);
      return performance.now() - from;
    }, i));
  }
  await answered(page);
  check((await page.locator('figure.drawing img').getAttribute('src')) !== before, 'the drawing stayed');
  check(page.url().includes('length='), 'the address follows');
  times.sort((a, b) => a - b);
  return `: median ${Math.round(times[6])} ms, slowest ${Math.round(times[11])} ms`;
});

await task('a method is chosen from the ranking', async () => {
  await go(page, '#thread?material=pla&thread=M3&length=6mm&need=100N');
  await page.locator('table[aria-label="Ways to make it"] button', { hasText: 'set with heat' }).first().click();
  await page.waitForFunction(() => location.hash.includes('method=heat-set-insert'));
  await answered(page);
  check((await text('#answer h2')).includes('set with heat'), 'the answer is about it');
});

await task('what the bench lacks leaves the ranking', async () => {
  await go(page, '#thread?material=pla&thread=M3&length=6mm');
  await page.locator('form label', { hasText: /^heat$/ }).locator('input').check();
  await answered(page);
  check(page.url().includes('without=heat'), 'the address has it');
  check(!(await text('#answer h2')).includes('set with heat'), 'a heat-set insert does not lead');
});

await task('glue against material', async () => {
  await go(page, '#glue?adhesive=cyanoacrylate-thick&material=petg&place=wet');
  check(/suits|unknown/.test(await text('#answer h2')), 'a verdict stands');
});

await task('three loads: dots, bound, what more would buy', async () => {
  await go(page, '#loads');
  await page.locator('input[name=loads]').pressSequentially('812, 857, 790');
  await page.waitForFunction(() => document.querySelectorAll('#answer figure circle').length === 3);
  await answered(page);
  // Hand: (812 + 857 + 790) / 3 = 819.67.
  check(/820 N/.test(await text('#answer')), 'the mean is 820 N');
  check((await text('#answer')).includes('What further specimens would gain'), 'what more would buy');
});

await task('a property with a unit finds records', async () => {
  await go(page, '#find?kind=resin&where=' + encodeURIComponent('tensile_strength >= 40 MPa'));
  const rows = await page.locator('table[aria-label="Records found"] tbody tr').count();
  check(rows > 2, `${rows} rows`);
});

await task('claims side by side', async () => {
  await go(page, '#compare?property=tensile_strength&records=polymer/pla&records=polymer/petg&records=resin/tough');
  check(await page.locator('figure svg').count() === 1, 'a picture');
  check(await page.locator('table[aria-label="Claims"] tbody tr').count() >= 3, 'its claims in words');
});

await task('from a number to its claim and to its source', async () => {
  await go(page, '#thread?material=pla&thread=M3&length=6mm');
  await page.locator('table[aria-label="Claims behind the load"] a[href^="#claim"]').first().click();
  await page.waitForFunction(() => location.hash.startsWith('#claim'));
  await answered(page);
  check((await text('#answer h2, #answer p')).length > 5, 'the claim is told');
  await page.locator('#answer a[href*="source"]').first().click();
  await page.waitForFunction(() => location.hash.includes('source'));
  await answered(page);
  check((await text('#answer h2')).includes('source/'), 'the source is told');
});

await task('the matrix of what was measured', async () => {
  await go(page, '#matrix?by=method');
  check(await page.locator('table.matrix td.known').count() > 0, 'something is known');
  check(await page.locator('table.matrix tbody tr').count() > 20, 'all materials');
});

await task('an address gives the same state to somebody else', async () => {
  const hash = '#thread?material=petg&thread=M4&length=8mm&need=200N&place=wet';
  await go(page, hash);
  const here = await text('#answer section');
  const other = await context.newPage();
  await other.goto(home + hash);
  await answered(other);
  check((await other.locator('#answer section').first().innerText()) === here, 'the answers differ');
  check((await other.locator('input[name=need]').inputValue()) === '200N', 'the form shows the need');
  check((await other.locator('select[name=place]').inputValue()) === 'wet', 'the form shows the place');
  await other.close();
});

function run(words) {
  const done = spawnSync(program, words, { encoding: 'utf8', maxBuffer: 1 << 28, cwd: out, env: { GRIPBOOK_CACHE: join(out, 'cache'), HOME: out, PATH: process.env.PATH } });
  return { exit: done.status, text: done.stdout };
}

await task('files are those that the program writes, to the byte', async () => {
  await go(page, '#thread?material=pla&thread=M3&length=5.7mm&insert=heat-set-m3&method=heat-set-insert');
  const words = ['fasten', '--material', 'pla', '--thread', 'M3', '--length', '5.7mm', '--insert', 'heat-set-m3', '--method', 'heat-set-insert'];
  for (const [button, option, name] of [['Drawing', '--drawing', 'hole.svg'], ['body', '--solid', 'hole.stl'], ['Profile', '--profile', 'hole.csv']]) {
    const [download] = await Promise.all([page.waitForEvent('download'), page.locator('#answer button', { hasText: button }).click()]);
    run([...words, option, name, '--pack', 'demo']);
    const [theirs, ours] = [readFileSync(await download.path()), readFileSync(join(out, name))];
    check(theirs.equals(ours), `${name}: ${theirs.length} bytes in the page, ${ours.length} from the program`);
  }
});

await task('two hundred questions have the answers of the command line', async () => {
  const all = questions(200);
  let compared = 0;
  for (const words of all) {
    const there = await page.evaluate((w) => ask(w, ['text']), [...words, '--format', 'json']);
    const here = run([...words, '--format', 'json', '--pack', 'demo']);
    check(there.exit === here.exit, `${words.join(' ')}: exit ${there.exit} in the page, ${here.exit} at the terminal: ${there.message ?? ''}`);
    if (there.text == null && !here.text) continue;
    check(there.text === here.text, `${words.join(' ')}: the answers differ`);
    compared++;
  }
  check(compared > 150, `only ${compared} had an answer`);
  return `: ${compared} documents of ${all.length} questions`;
});

await task('it is printed on A4', async () => {
  await go(page, '#thread?material=pla&thread=M3&length=6mm&need=100N');
  const pdf = await page.pdf({ preferCSSPageSize: true, path: join(out, 'sheet.pdf') });
  const content = pdf.toString('latin1');
  const [, width, height] = content.match(/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)/);
  check(Math.abs(width - 595) < 2 && Math.abs(height - 842) < 2, `${width} x ${height} points`);
  const pages = (content.match(/\/Type\s*\/Page\b/g) ?? []).length;
  check(pages <= 2, `${pages} pages`);
  return `: ${pages} pages`;
});

const STATES = { thread: '#thread?material=logger-grey&thread=M3&length=5.7mm&need=150N', glue: '#glue?adhesive=epoxy-slow&material=petg', loads: '#loads?loads=812,857,790/655,702,731&unit=N', find: '#find?words=tough', compare: '#compare?property=tensile_strength&records=polymer/pla&records=resin/tough', matrix: '#matrix', line: '#line?say=thread+M3+--engaged+5.7mm', record: '#record?id=polymer/pla', claim: '#claim?at=polymer/pla:density', wrong: '#thread?material=plaa&thread=M3' };

for (const scheme of ['light', 'dark']) {
  await task(`accessibility rules, ${scheme}`, async () => {
    await page.emulateMedia({ colorScheme: scheme });
    const found = [];
    for (const [name, hash] of Object.entries(STATES)) {
      await go(page, hash);
      for (const summary of await page.locator('#answer summary').all()) await summary.click();
      // The policy of the file keeps scripts of others out; the checker is put in by the driver.
      await page.evaluate(axe);
      const said = await page.evaluate(() => axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'best-practice'] }));
      for (const one of said.violations) found.push(`${name}: ${one.id} ${one.nodes[0].target} (${one.nodes.length})`);
    }
    check(!found.length, found.join('; '));
  });
}
await page.emulateMedia({ colorScheme: 'light' });

await task('the keyboard alone goes from question to answer', async () => {
  const fresh = await context.newPage();
  await fresh.goto(home + '#thread');
  await answered(fresh);
  await fresh.waitForSelector('form');
  const stop = async () => {
    await fresh.keyboard.press('Tab');
    return fresh.evaluate(() => document.activeElement.name || document.activeElement.textContent.slice(0, 20));
  };
  const seen = [];
  for (let i = 0; i < 40; i++) seen.push(await stop());
  check(seen[0] === 'To the answer', `the first stop is ${seen[0]}`);
  for (const wanted of ['Glue', 'material', 'thread', 'length', 'need', 'Print']) check(seen.some((s) => s.startsWith(wanted)), `${wanted} cannot be reached: ${seen.join(', ')}`);
  await fresh.close();
});

for (const width of [360, 800, 1400]) {
  await task(`nothing is cut off at ${width} pixels`, async () => {
    await page.setViewportSize({ width, height: 1000 });
    for (const [name, hash] of Object.entries(STATES)) {
      await go(page, hash);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      await page.screenshot({ path: join(out, `${name}-${width}.png`), fullPage: true });
      const widest = () => [...document.querySelectorAll('#main *')].filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest('.wide')).map((e) => `${e.tagName} ${e.className}`).slice(0, 4).join(', ');
      check(wide <= 0, `${name} is ${wide} pixels too wide: ${await page.evaluate(widest)}`);
    }
  });
}

await task('it asked nothing of a network, and nothing broke', async () => {
  const refused = await page.evaluate(async () => {
    try { await fetch('https://example.org/'); return false; } catch { return true; }
  });
  check(refused, 'a request went out');
  check(!asked.length, asked.join(', '));
  const others = broken.filter((line) => !/example\.org|Content Security Policy/.test(line));
  check(!others.length, others.join('; '));
});

await browser.close();
console.log(failed ? `${failed} tasks failed` : 'all tasks done');
process.exit(failed ? 1 : 0);
