// Which route comes next once one is done: the first in the trade's order that has the gauges it
// needs and no reading yet.

import { station } from './state.js';

/** The routes in the order in which parts are measured, each with the first word of its spots. */
const ORDER = [
  ['chambers', 'chamber'],
  ['deck', 'deck'],
  ['bores', 'bore'],
  ['stroke', 'stroke'],
  ['gasket', 'gasket'],
  ['crowns', 'crown'],
  ['flow', 'flow'],
];

/** One of `routes`, or null. */
export function nextRoute(routes) {
  const kinds = new Set([...station.gauges.values()].map((g) => g.kind));
  const read = new Set([...station.readings.values()].map((r) => r.spot.split('/')[0]));
  for (const [name, quantity] of ORDER) {
    const one = routes.find((r) => r.name === name);
    if (one && !read.has(quantity) && one.needs.every((kind) => kinds.has(kind))) return one;
  }
  return null;
}
