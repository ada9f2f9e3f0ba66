// The scenes of the guide's pictures, played on virtual gauges. Every number in them is invented.

import { join } from 'node:path';
import { root, until } from './bench.mjs';
import { sees, startRoute } from './look.mjs';

/** How large the pictures are, in pixels. */
export const VIEW = { width: 1000, height: 640 };

const JOB = 'number-12';
/** A job whose readings are all there. */
const MEASURED = 'number-11';

/** Plays every scene in its order; `take` gets the name of each picture when it can be taken. */
export async function playScenes(bench, page, take) {
  await page.setViewportSize(VIEW);
  await page.emulateMedia({ colorScheme: 'light', reducedMotion: 'reduce' });
  const at = (path) => page.goto(`http://${bench.address}${path}`);
  await isFound(bench, page, at);
  await take('found');
  bench.gauge('unplug unknown');
  bench.job(JOB);
  await at(`/jobs/${JOB}/engine`);
  await page.locator('svg').first().waitFor();
  await take('engine');
  await pours(bench, page, at);
  await take('pouring');
  await isAsked(bench, page);
  await take('asked');
  bench.job(MEASURED);
  bench.run('import', MEASURED, join(root, 'examples', 'invented-v8-readings.csv'));
  await at(`/jobs/${MEASURED}/report`);
  await page.locator('.next').first().waitFor();
  await take('report');
}

/** How long a route that has just begun may show READY before the burette was seen to rest, in ms. */
const SETTLES = 4000;

/** Waits until the board has shown READY without a break for so long that the rest before the pour is
 * known: a hand waits as well. */
async function staysReady(page) {
  let since;
  await until(
    async () => {
      const ready = (await page.locator('#state').innerText()).includes('READY');
      since = ready ? (since ?? Date.now()) : undefined;
      return ready && Date.now() - since > SETTLES;
    },
    'READY without a break',
    60000,
  );
}

/** A burette was plugged in and is listened to. */
async function isFound(bench, page, at) {
  const device = await bench.plugDevice('unknown', 'cc', 2, 3);
  await at('/gauges');
  await page.locator('#port').fill(device);
  bench.gauge('ramp unknown 0.5 9');
  await page.locator('#port').press('Enter');
  await sees(page, 'h1', /Found: it shows \d+(\.\d+)? cc/, 60000);
  // The device's number differs from machine to machine.
  await page.getByText(device).first().evaluateAll((all) => all.forEach((one) => one.remove()));
}

/** Five chambers are there, and the next is poured. */
async function pours(bench, page, at) {
  const path = await bench.plug('burette', 'cc', 2, 0);
  bench.run('gauge', 'set', 'burette', '--profile', 'ascii-volume', '--port', path, '--capacity', '100 cc', '--counts', 'up');
  for (const [chamber, cc] of [[1, '64.12'], [3, '64.20'], [5, '64.08'], [7, '64.16'], [2, '64.14']]) {
    bench.run('enter', JOB, `chamber/${chamber}`, `${cc} cc`);
  }
  await at(`/measure?job=${JOB}`);
  await page.locator('#link[data-state=live]').waitFor();
  await startRoute(page, 'chambers');
  await sees(page, '#stop', 'chamber 4');
  await staysReady(page);
  bench.gauge('ramp burette 64.1 20');
  await until(async () => Number(await page.locator('#digits').innerText()) > 50, 'the pour to be far along', 60000);
}

/** The next chamber is far larger than its fellows. */
async function isAsked(bench, page) {
  await sees(page, '#got-digits', /^64\.\d+$/, 60000);
  bench.gauge('ramp burette 0 4');
  await staysReady(page);
  bench.gauge('ramp burette 81.3 14');
  await page.locator('#answers [data-do=keep]:enabled').waitFor({ timeout: 90000 });
}
