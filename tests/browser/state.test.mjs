// What the board knows of the bench, without a browser.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { bench, renew, take } from '../../daemon/board/state.js';

const live = [{ channel: 'length', value: 0.5, unit: 'in' }];

function gauge(link, todo) {
  return { setup: { name: 'dial' }, link, todo, live: [] };
}

test('what is to be done about a gauge that is heard stands until it is done', () => {
  renew({ id: 1, gauges: [gauge('live', '')], routes: [] });
  take({ event: 'link', gauge: gauge('live', 'switch it back to mm, or zero it again in in') });
  assert.equal(take({ event: 'value', gauge: 'dial', live }), 'value');
  assert.equal(bench.gauges.get('dial').todo, 'switch it back to mm, or zero it again in in');
  take({ event: 'link', gauge: gauge('live', '') });
  assert.equal(bench.gauges.get('dial').todo, '');
});

test('a value that was under way when its gauge was lost does not bring the gauge back', () => {
  renew({ id: 1, gauges: [gauge('live', '')], routes: [] });
  take({ event: 'link', gauge: gauge('lost', 'plug it in again') });
  take({ event: 'value', gauge: 'dial', live });
  assert.equal(bench.gauges.get('dial').link, 'lost');
  take({ event: 'link', gauge: gauge('live', '') });
  assert.equal(bench.gauges.get('dial').link, 'live');
});
