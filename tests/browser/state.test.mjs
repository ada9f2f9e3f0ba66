// What the board knows of the bench, without a browser.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { now } from '../../daemon/board/now.js';
import { renew, station, take } from '../../daemon/board/state.js';

const live = [{ channel: 'length', value: 0.5, unit: 'in' }];

function gauge(link, todo) {
  return { setup: { name: 'dial' }, link, todo, live: [] };
}

test('what is to be done about a gauge that is heard stands until it is done', () => {
  renew({ id: 1, gauges: [gauge('live', '')], routes: [] });
  take({ event: 'link', gauge: gauge('live', 'switch it back to mm, or zero it again in in') });
  assert.equal(take({ event: 'value', gauge: 'dial', live }), 'value');
  assert.equal(station.gauges.get('dial').todo, 'switch it back to mm, or zero it again in in');
  take({ event: 'link', gauge: gauge('live', '') });
  assert.equal(station.gauges.get('dial').todo, '');
});

test('a value that was under way when its gauge was lost does not bring the gauge back', () => {
  renew({ id: 1, gauges: [gauge('live', '')], routes: [] });
  take({ event: 'link', gauge: gauge('lost', 'plug it in again') });
  take({ event: 'value', gauge: 'dial', live });
  assert.equal(station.gauges.get('dial').link, 'lost');
  take({ event: 'link', gauge: gauge('live', '') });
  assert.equal(station.gauges.get('dial').link, 'live');
});

/** The burette as it is now. */
function burette(phase, poured) {
  const live = [{ channel: 'volume', value: 20, unit: 'cc', decimals: 2, phase, poured }];
  return { event: 'value', gauge: 'burette', live };
}

/** A route of two chambers, of which the first has this state. */
function chambers(first, at) {
  const stop = (n, more) => ({ spot: `chamber/${n}`, round: 1, gauge: 'burette', ...more });
  const taken = { state: first, reading: 7, shown: '64.20 cc' };
  const stops = [first === 'left' ? stop(1, { state: 'left' }) : stop(1, taken), stop(2, { state: 'left' })];
  return { job: 'v8', route: 'chambers', running: true, at, stops, prompt: '', so_far: '' };
}

test('a short refill half-way through a chamber does not show the chamber before as just taken', () => {
  station.job = 'v8';
  const of = { setup: { name: 'burette' }, link: 'live', todo: '', live: [] };
  renew({ id: 1, gauges: [of], routes: [chambers('left', 0)] });
  take(burette('held', 64.2));
  take({ event: 'route', progress: chambers('held', 1) });
  assert.equal(now().state, 'got', 'the first chamber is taken');
  // The next filling, 20 cc of it, and a rest: that is no chamber yet.
  take(burette('refilling'));
  take({ event: 'route', progress: chambers('taken', 1) });
  take(burette('waiting'));
  assert.notEqual(now().state, 'got', 'filled within the six seconds');
  take(burette('delivering', 12));
  take(burette('held', 20));
  assert.equal(now().state, 'settling');
  take(burette('refilling'));
  take(burette('still'));
  assert.equal(now().state, 'settling');
});
