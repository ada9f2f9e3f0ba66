// Every state of the panel, at three sizes: seen by its word, its frame and its colour, read from
// three metres, whole without scrolling.

import assert from 'node:assert/strict';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Bench, until } from './bench.mjs';
import { passesAxe, sees, shots, startRoute, text } from './look.mjs';
import { seen, SIZES } from './sizes.mjs';

let bench;
let page;

before(async () => {
  bench = await Bench.start();
  bench.job('panel');
  const path = await bench.plug('burette', 'cc', 2, 0);
  bench.run('gauge', 'set', 'burette', '--profile', 'ascii-volume', '--port', path, '--capacity', '100 cc', '--counts', 'up');
  page = await bench.page({ viewport: { width: 1280, height: 800 } });
});

after(() => bench?.stop());

const frames = new Map();

/** What the panel is drawn with. */
const frame = () =>
  page.locator('#now').evaluate((n) => {
    const s = getComputedStyle(n);
    return { fill: s.backgroundColor, shape: [s.borderTopStyle, s.borderLeftWidth, s.borderTopLeftRadius].join(' ') };
  });

/** Looks at a state at every size, by day and by night. */
async function looksAt(state, { digits = '#digits', words = ['#state', '#stop'] } = {}) {
  await until(async () => (await page.locator('#now').getAttribute('data-state')) === state, `the state ${state}`);
  frames.set(state, { ...(await frame()), word: await text(page, '#state') });
  for (const [name, width, height] of SIZES) {
    await page.setViewportSize({ width, height });
    await page.screenshot({ path: join(shots, `state-${state}-${name}.png`) });
    const { of, scrolls } = await seen(page, [digits, ...words, state === 'asked' ? '#asked-text' : '#prompt'].filter(Boolean));
    assert.equal(scrolls, false, `${state} ${name} does not scroll sideways`);
    for (const [selector, one] of Object.entries(of)) {
      assert.ok(one, `${state} ${name}: ${selector} is seen`);
      assert.ok(one.whole, `${state} ${name}: ${selector} is whole, above the keys and under nothing: ${JSON.stringify(one)}`);
    }
    for (const selector of words) {
      assert.ok(of[selector].high >= 0.05 * height, `${state} ${name}: ${selector} of ${of[selector].high} px`);
    }
    if (!digits) continue;
    const { high, wide } = of[digits];
    if (name === 'phone') assert.ok(wide >= 0.85 * width, `${state} phone: digits ${wide} px wide`);
    else assert.ok(high >= 0.18 * height, `${state} ${name}: digits of ${high} px`);
  }
  for (const colorScheme of ['light', 'dark']) {
    await page.emulateMedia({ colorScheme });
    await page.setViewportSize({ width: 1280, height: 800 });
    await passesAxe(page, `${state}, ${colorScheme}`);
  }
}

const goes = (level, seconds) => bench.gauge(`ramp burette ${level} ${seconds}`);

/** Waits for a state that passes by itself, and holds the page there while it is looked at. */
const during = async (state, look) => {
  await until(async () => (await page.locator('#now').getAttribute('data-state')) === state, `the state ${state}`);
  await look();
};

test('no route: the way on is a button', async () => {
  await sees(page, '#state', 'NO ROUTE');
  await page.locator('#to-route').waitFor();
  await looksAt('none', { digits: null, words: ['#state'] });
});

test('ready: what went in counts from nothing, with the scale and what is left beside it', async () => {
  await startRoute(page, 'chambers');
  await sees(page, '#phase', 'ready');
  await page.locator('#still[aria-valuenow="10"]').waitFor({ state: 'attached' });
  await sees(page, '#digits', '0.00');
  await sees(page, '#left-in', '100 cc left');
  await looksAt('ready');
});

test('pouring: the digits show what went into this chamber, the scale stands beside it', async () => {
  goes(70, 60);
  await looksAt('pouring');
  const [went, scale] = [parseFloat(await text(page, '#digits')), parseFloat((await text(page, '#scale')).split(' ')[1])];
  assert.ok(Math.abs(went - scale) < 0.6, `went in ${went}, scale ${scale}`);
  assert.equal(await page.locator('#last').isHidden(), true);
});

test('settling, and what is far below the expected waits for the rest', async () => {
  goes(30, 1);
  await sees(page, '#so-far', /\d cc so far/);
  await looksAt('settling');
});

test('got it: the reading stands large at its own chamber, not under the next name', async () => {
  goes(64.2, 3);
  await during('got', async () => {
    assert.match(await text(page, '#of'), /chamber 1/);
    assert.match(await text(page, '#got-digits'), /64\.\d\d/);
    assert.match(await text(page, '#prompt'), /Next: chamber 3/);
    assert.equal(await page.locator('#stop').isVisible(), false);
  });
  await looksAt('got', { digits: '#got-digits', words: ['#state', '#of'] });
});

test('filling, then the next chamber, with the reading before it named', async () => {
  goes(0, 20);
  await looksAt('filling');
  await sees(page, '#last', /chamber 1 64\.\d\d cc/);
  goes(0, 0);
  await sees(page, '#phase', 'ready');
  await until(async () => (await page.locator('#now').getAttribute('data-state')) === 'ready', 'ready');
  await sees(page, '#stop', 'chamber 3');
  await sees(page, '#digits', '0.00');
  const { of } = await seen(page, ['#last']);
  assert.ok(of['#last'].high >= 0.05 * 800, `the last reading of ${of['#last'].high} px`);
});

test('held by you', async () => {
  await page.keyboard.press('h');
  await looksAt('held');
  await page.keyboard.press('h');
});

test('lost: the gauge is named, with what to do and no path', async () => {
  bench.gauge('unplug burette');
  await looksAt('lost', { digits: null });
  const said = await text(page, '#prompt');
  assert.match(said, /burette is LOST: .*plug/);
  assert.ok(!said.includes('/'), said);
  await bench.plug('burette', 'cc', 2, 0);
  await until(async () => (await page.locator('#now').getAttribute('data-state')) !== 'lost', 'it is back');
});

test('asked', async () => {
  await page.locator('#still[aria-valuenow="10"]').waitFor({ state: 'attached' });
  if (await page.locator('#asked').isVisible()) await page.locator('#answers button:enabled').first().click();
  await sees(page, '#phase', 'ready');
  goes(90, 4);
  await until(() => page.locator('#asked').isVisible(), 'the question');
  await looksAt('asked', { digits: null, words: [] });
  bench.run('steer', 'panel', 'end');
});

test('no two states look alike, with colour or without', () => {
  const looks = [...frames].map(([state, f]) => [state, `${f.fill} ${f.shape}`]);
  const of = (state) => frames.get(state);
  for (const [state, look] of looks) {
    for (const [other, as] of looks) {
      // Pouring and filling are told apart by word and sign; no route and ready by their words.
      if (state < other && !(state === 'filling' && other === 'pouring')) assert.notEqual(look, as, `${state} and ${other}`);
    }
  }
  const shapes = ['ready', 'pouring', 'settling', 'got', 'asked', 'held', 'lost'].map((s) => of(s).shape);
  assert.equal(new Set(shapes).size, shapes.length, JSON.stringify(shapes));
});

test('no fault, nothing forbidden, nothing from elsewhere', () => {
  assert.deepEqual(page.faults, []);
});
