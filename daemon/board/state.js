// What is known of the bench, and how an event changes it. Draws nothing, asks nothing.

export const bench = {
  id: 0,
  gauges: new Map(),
  routes: new Map(),
  jobs: [],
  job: null,
  engine: null,
  readings: new Map(),
  standing: null,
  findings: [],
  said: null,
  link: 'opening',
  heardAt: Date.now(),
};

/** Takes in the whole state. */
export function renew(state) {
  bench.id = state.id;
  bench.gauges = new Map(state.gauges.map((g) => [g.setup.name, g]));
  bench.routes = new Map(state.routes.map((r) => [r.job, r]));
}

/** Takes in a job's detail. */
export function renewJob(detail) {
  bench.readings = new Map(detail.readings.map((r) => [r.id, r]));
  bench.standing = detail.route ?? null;
  bench.stage = detail.summary.stage;
}

/** Takes in one event; says what changed: `value`, `route`, `reading`, `say`, `link`, `missed`, `stopping`. */
export function take(event) {
  switch (event.event) {
    case 'value': {
      const gauge = bench.gauges.get(event.gauge);
      if (!gauge) return 'nothing';
      const back = gauge.link !== 'live';
      Object.assign(gauge, { live: event.live, link: 'live' });
      // What is to be done about a gauge that is heard (its unit was changed) stands until it is done.
      if (back) gauge.todo = '';
      return back ? 'link' : 'value';
    }
    case 'link':
      bench.gauges.set(event.gauge.setup.name, event.gauge);
      return 'link';
    case 'reading':
      if (event.job === bench.job) bench.readings.set(event.reading.id, event.reading);
      return 'reading';
    case 'route': {
      const p = event.progress;
      if (p.running) bench.routes.set(p.job, p);
      else bench.routes.delete(p.job);
      if (p.job === bench.job) bench.standing = p;
      return 'route';
    }
    case 'say':
      bench.said = event;
      return 'say';
    case 'caught':
      return event.missed ? 'missed' : 'nothing';
    case 'stopping':
      return 'stopping';
    default:
      return 'nothing';
  }
}

/** The route of the shown job: the one that runs, or the one that stands half-way. */
export function route() {
  return bench.routes.get(bench.job) ?? bench.standing;
}

/** The stop where the route stands. */
export function stop() {
  const r = route();
  return r && r.at !== undefined && r.at !== null ? r.stops[r.at] : null;
}

/** What the person at the bench is asked, or null. */
export function question() {
  const r = route();
  return (r?.running && r.asked) || null;
}

/** The gauge to be shown: that of the stop where a route runs, else the first that is heard. */
export function gauge() {
  const here = stop();
  if (here?.gauge) return bench.gauges.get(here.gauge) ?? null;
  const all = [...bench.gauges.values()];
  return all.find((g) => g.link === 'live') ?? all[0] ?? null;
}

/** A spot in words: `deck 5 front`. */
export function called(spot) {
  return spot.replaceAll('/', ' ');
}

/** The cylinder of a spot, or null. */
export function cylinder(spot) {
  const found = spot.split('/').slice(1).find((part) => /^\d+$/.test(part));
  return found ? Number(found) : null;
}

/** What the digits show of a live value: counted from zero where the stop counts so. */
export function figure(live, here) {
  if (live.value === null || live.value === undefined) return { text: live.status || 'no value', unit: '' };
  const counts = here?.counts ?? 'as_captured';
  let value = live.value;
  let from = 'as the gauge shows';
  if (live.zeroed !== undefined && live.zeroed !== null && counts !== 'as_captured') {
    value = counts === 'above_zero' ? -live.zeroed : live.zeroed;
    from = counts === 'above_zero' ? 'above its zero' : 'below its zero';
  }
  const text = value.toFixed(live.decimals);
  return { text: Number(text) === 0 ? text.replace('-', '') : text, unit: live.unit, from };
}
