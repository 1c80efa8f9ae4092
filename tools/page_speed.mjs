// Measures the page in headless Chromium: its size, how long the first answer takes from opening, how long a new answer takes
// from a changed slider (few draws first, then all), and a search in it.
//
//     node tools/page_speed.mjs BOOK.html [RUNS]
//
// Needs what .ci/run puts into target/browser-tools. A pack of 10,000 records: tools/generate_pack.py --records 10000 --folder PACK, then
// gripbook page --out big.html --pack PACK.
import { createRequire } from 'node:module';
import { statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const tools = process.env.GRIPBOOK_BROWSER_TOOLS || join(dirname(fileURLToPath(import.meta.url)), '..', 'target', 'browser-tools');
const { chromium } = createRequire(join(tools, 'node_modules', 'x'))('playwright-core');
const [book, runs = '5'] = process.argv.slice(2);
const home = pathToFileURL(book).href;

const middle = (times) => times.sort((a, b) => a - b)[Math.floor(times.length / 2)];
const told = (what, times) => console.log(`${what.padEnd(44)} ${Math.round(middle(times))} ms, slowest ${Math.round(Math.max(...times))} ms, ${times.length} runs`);

console.log(`${'size'.padEnd(44)} ${(statSync(book).size / 1e6).toFixed(2)} MB`);
const browser = await chromium.launch({ executablePath: process.env.GRIPBOOK_CHROMIUM || '/usr/bin/chromium', args: ['--no-sandbox'] });
const first = [], slider = [], whole = [], found = [];
for (let run = 0; run < Number(runs); run++) {
  const page = await browser.newPage({ viewport: { width: 360, height: 780 } });
  await page.goto(home);
  await page.waitForFunction(() => performance.getEntriesByName('first answer').length, null, { timeout: 120000 });
  first.push(await page.evaluate(() => performance.getEntriesByName('first answer')[0].startTime));
  await page.waitForTimeout(1500);
  for (let turn = 0; turn < 8; turn++) {
    slider.push(await page.evaluate(async (length) => {
      const range = document.querySelector('input[type=range]'), place = document.querySelector('#answer');
      const from = performance.now();
      range.value = length;
      range.dispatchEvent(new Event('input', { bubbles: true }));
      while (place.classList.contains('stale')) await new Promise(requestAnimationFrame);
      return performance.now() - from;
    }, 5 + turn * 0.7));
  }
  await page.waitForTimeout(1500);
  const words = ['fasten', 'pla', 'M3', '6mm', '300N'];
  whole.push(await page.evaluate(async (w) => { const from = performance.now(); await ask(w, ['brief', 'json']); return performance.now() - from; }, words));
  found.push(await page.evaluate(async () => { const from = performance.now(); await ask(['find', 'tough', '--kind', 'resin'], ['json']); return performance.now() - from; }));
  await page.close();
}
told('first answer after opening', first);
told('answer after a changed slider, few draws', slider);
told('the same with all 20,000 draws', whole);
told('a search over all records', found);
await browser.close();
