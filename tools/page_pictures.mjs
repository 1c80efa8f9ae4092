// Makes the two pictures of the page in README: node tools/page_pictures.mjs BOOK.html, with the demo pack in the book.
// Needs what .ci/run puts into target/browser-tools.
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const here = dirname(fileURLToPath(import.meta.url));
const tools = process.env.GRIPBOOK_BROWSER_TOOLS || join(here, '..', 'target', 'browser-tools');
const { chromium } = createRequire(join(tools, 'node_modules', 'x'))('playwright-core');
const home = pathToFileURL(process.argv[2]).href;
const browser = await chromium.launch({ executablePath: process.env.GRIPBOOK_CHROMIUM || '/usr/bin/chromium', args: ['--no-sandbox'] });

async function picture(name, hash, width, height) {
  const page = await browser.newPage({ viewport: { width, height } });
  await page.goto(home + hash);
  await page.waitForFunction(() => document.body.dataset.answered && !document.querySelector('#answer.stale') && document.querySelector('form'));
  // The whole number of draws follows the first answer.
  await page.waitForTimeout(4000);
  await page.screenshot({ path: join(here, 'pictures', name) });
  await page.close();
}

await picture('thread.png', '#thread?material=logger-grey&thread=M3&length=5.7mm&need=150N', 1000, 860);
await picture('loads.png', '#loads?loads=812%2C857%2C790&unit=N', 360, 860);
await browser.close();
