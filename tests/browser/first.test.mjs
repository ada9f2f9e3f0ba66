// From `serve` on an empty folder to the first kept reading by the page alone.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Bench, root, until } from './bench.mjs';
import { sees } from './look.mjs';

/** Keys and clicks that a person may need at the most. */
const MOST = 40;
/** How long a person takes for a key, and to look, point and click, in seconds. The keystroke-level
 * model has 0.28 for a key, 1.1 to point, 0.2 to press and 1.35 to make up one's mind (from memory). */
const [KEY_S, CLICK_S] = [0.28, 2.65];
/** A person's time for all of it, in seconds, what is waited for included. */
const PACE_S = 180;

let bench;

before(async () => {
  bench = await Bench.start();
});

after(() => bench?.stop());

/** A hand that counts what it does. */
class Hand {
  constructor(page) {
    Object.assign(this, { page, keys: 0, clicks: 0, waited: 0 });
  }

  async click(locator) {
    this.clicks += 1;
    await locator.click();
  }

  async type(text) {
    this.keys += text.length;
    await this.page.keyboard.type(text);
  }

  async press(key) {
    this.keys += key.split('+').length;
    await this.page.keyboard.press(key);
  }

  /** A text from the clipboard, by two keys. */
  async paste(text) {
    this.keys += 2;
    await this.page.keyboard.insertText(text);
  }

  /** What is waited for, on the clock. */
  async waits(look) {
    const from = Date.now();
    await look();
    this.waited += (Date.now() - from) / 1000;
  }
}

test('at most 40 keys and clicks from an empty folder to the first kept reading', async () => {
  const device = await bench.plugDevice('burette', 'cc', 2, 3);
  const context = await bench.browser.newContext({ viewport: { width: 1280, height: 800 } });
  const page = await bench.watched(context);
  const hand = new Hand(page);
  await page.goto(bench.board);
  await page.waitForURL('**/jobs');

  await hand.click(page.getByRole('link', { name: 'Gauges' }));
  await hand.click(page.locator('#port'));
  await hand.type(device);
  bench.gauge('ramp burette 0 9');
  await hand.press('Enter');
  await hand.waits(() => sees(page, 'h1', /Found: it shows \d+(\.\d+)? cc/, 40000));
  await hand.click(page.getByRole('button', { name: 'Set it up' }));
  await sees(page, 'h1', 'burette-1');
  bench.gauge('set burette 0.5');
  await sees(page, '.values', '0.50 cc');
  bench.gauge('set burette 0');
  await sees(page, '.values', '0.00 cc');

  await hand.click(page.getByRole('link', { name: 'Begin a job' }));
  await hand.click(page.getByLabel('Name of the job'));
  await hand.type('v8');
  await hand.click(page.getByText('The engine file as text'));
  await hand.click(page.locator('#text'));
  await hand.press('ControlOrMeta+a');
  await hand.paste(readFileSync(join(root, 'examples', 'invented-v8.toml'), 'utf8'));
  await hand.click(page.getByRole('button', { name: 'Begin the job' }));
  await hand.click(page.getByRole('link', { name: 'Begin chambers', exact: true }));
  await hand.click(page.getByRole('button', { name: 'Begin it' }));
  await sees(page, '#stop', 'chamber 1');
  await sees(page, '#phase', 'ready');
  await page.locator('#still[aria-valuenow="10"]').waitFor({ state: 'attached' });

  bench.gauge('ramp burette 64.2 8');
  // Which way the scale runs is not known yet: it is asked once.
  await hand.waits(() => until(() => page.locator('#answers [data-do=delivered]:enabled').isVisible(), 'the question', 40000));
  await hand.click(page.locator('#answers [data-do=delivered]'));
  await hand.waits(() => sees(page, '#got-digits', /^64\.\d+$/, 30000));
  const kept = bench.json('job', 'show', 'v8').readings.filter((r) => ['held', 'final'].includes(r.state));
  assert.deepEqual(kept.map((r) => r.spot), ['chamber/1']);

  const [keys, clicks] = [hand.keys, hand.clicks];
  const pace = keys * KEY_S + clicks * CLICK_S + hand.waited;
  console.log(`${keys} keys and ${clicks} clicks; a person's pace: ${pace.toFixed(0)} s, of it ${hand.waited.toFixed(0)} s waiting`);
  assert.ok(keys + clicks <= MOST, `${keys} keys and ${clicks} clicks`);
  assert.ok(pace < PACE_S, `${pace} s at a person's pace`);
  assert.deepEqual(page.faults, []);
  await context.close();
});
