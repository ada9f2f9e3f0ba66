// What is known of the bench, and how an event changes it. Draws nothing, asks nothing.

import { factor } from './units.js';

export const station = {
  id: 0,
  gauges: new Map(),
  routes: new Map(),
  jobs: [],
  job: null,
  engine: null,
  readings: new Map(),
  standing: null,
  findings: [],
  // The flow of each port as the report has it, and the depression that it refers to.
  flows: [],
  depression: null,
  // The reading that came last while this page watched: its stop, its number, when it came, and whether
  // liquid ran at its gauge since.
  last: null,
  said: null,
  link: 'opening',
  heardAt: Date.now(),
};

/** Takes in the whole state. */
export function renew(state) {
  station.id = state.id;
  station.gauges = new Map(state.gauges.map((g) => [g.setup.name, g]));
  station.routes = new Map(state.routes.map((r) => [r.job, r]));
}

/** Takes in a job's detail. */
export function renewJob(detail) {
  station.readings = new Map(detail.readings.map((r) => [r.id, r]));
  station.standing = detail.route ?? null;
  station.stage = detail.summary.stage;
  // A page that was loaded again knows the last reading, and not when it came.
  const taken = (route()?.stops ?? []).filter((s) => s.reading);
  const newest = taken.sort((a, b) => a.reading - b.reading).at(-1);
  station.last = newest ? { ...newest, at: 0 } : null;
}

/**
 * Takes in one event; says what changed: `value`, `route`, `reading`, `say`, `link`, `missed`,
 * `stopping`. Only `link` tells how a gauge's line stands, since a value may come late.
 */
export function take(event) {
  switch (event.event) {
    case 'value': {
      const gauge = station.gauges.get(event.gauge);
      if (!gauge) return 'nothing';
      gauge.live = event.live;
      const runs = ['delivering', 'refilling'].includes(event.live?.[0]?.phase);
      if (runs && station.last?.gauge === event.gauge) station.last.ranSince = true;
      return 'value';
    }
    case 'gauge_removed':
      station.gauges.delete(event.gauge);
      return 'link';
    case 'link':
      station.gauges.set(event.gauge.setup.name, event.gauge);
      return 'link';
    case 'reading':
      if (event.job === station.job) {
        station.readings.set(event.reading.id, event.reading);
        changed(event.reading);
      }
      return 'reading';
    case 'route': {
      const p = event.progress;
      if (p.job === station.job) came(station.routes.get(p.job), p);
      if (p.running) station.routes.set(p.job, p);
      else station.routes.delete(p.job);
      if (p.job === station.job) station.standing = p;
      return 'route';
    }
    case 'say':
      station.said = event;
      return 'say';
    case 'caught':
      return event.missed ? 'missed' : 'nothing';
    case 'stopping':
      return 'stopping';
    default:
      return 'nothing';
  }
}

/** Notes the reading that a route has since it stood `before`. */
function came(before, now) {
  if (!before) return;
  const had = new Map(before.stops.map((s, i) => [i, `${s.reading ?? ''} ${s.shown ?? ''}`]));
  const fresh = now.stops.filter((s, i) => s.reading && had.get(i) !== `${s.reading} ${s.shown}`);
  const newest = fresh.sort((a, b) => a.reading - b.reading).at(-1);
  const poured = station.gauges.get(newest?.gauge)?.live?.[0]?.poured;
  if (newest) station.last = { ...newest, at: Date.now(), poured };
  // A voided reading is no longer the last one.
  else if (station.last && !now.stops.some((s) => s.reading === station.last.reading)) station.last = null;
}

/** The route of the shown job: the one that runs, or the one that stands half-way. */
export function route() {
  return station.routes.get(station.job) ?? station.standing;
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
  if (here?.gauge) return station.gauges.get(here.gauge) ?? null;
  const all = [...station.gauges.values()];
  return all.find((g) => g.link === 'live') ?? all[0] ?? null;
}

/**
 * A spot in words: `deck 5 front`; a lift or depth in the engine's unit: `flow 4 intake 0.300 in`; a
 * free spot by its name: `spring height 3 intake`.
 */
export function called(spot) {
  const words = spot.replace(/^free\//, '').replace(/^crown\b/, 'dome or dish');
  return inEngineUnits(words.replaceAll('/', ' ').replaceAll('_', ' '));
}

/** A sentence with the lifts and depths of its spots in the engine's unit. */
export function inEngineUnits(text) {
  const inch = station.engine?.units === 'inch';
  const size = (_, mm) => (inch ? `${(Number(mm) / 25.4).toFixed(3)} in` : `${mm} mm`);
  return text.replace(/\b(\d+(?:\.\d+)?)mm\b/g, size);
}

/** The reading that was told last goes to where it was moved; one that counts no more is not told. */
function changed(reading) {
  if (station.last?.reading !== reading.id) return;
  const counts = reading.state === 'held' || reading.state === 'final';
  station.last = counts ? { ...station.last, spot: reading.spot } : null;
}

/** The cylinder of a spot, or null. */
export function cylinder(spot) {
  const found = spot.split('/').slice(1).find((part) => /^\d+$/.test(part));
  return found ? Number(found) : null;
}

/** A number in the engine's unit, with the digits that its gauge sends. */
function inUnit(value, live, wanted) {
  const by = factor(live.unit, wanted);
  if (by === null) return { text: value.toFixed(live.decimals), unit: live.unit, value };
  const decimals = Math.min(6, Math.max(0, Math.ceil(live.decimals - Math.log10(by) - 0.3)));
  return { text: (value * by).toFixed(decimals), unit: wanted, value: value * by };
}

/** Never `-0.00`. */
const plain = (shown) => ({ ...shown, text: Number(shown.text) === 0 ? shown.text.replace('-', '') : shown.text });

/** What the gauge itself shows, in the unit of the stop. */
export function scale(live, here) {
  if (live.value === null || live.value === undefined) return { text: live.status || 'no value', unit: '' };
  return plain(inUnit(live.value, live, here?.unit));
}

/**
 * What the digits show of a live value: what went into this chamber where a route takes pours, else
 * counted from zero where the stop counts so.
 */
export function figure(live, here) {
  if (live.value === null || live.value === undefined) return { text: live.status || 'no value', unit: '' };
  if (live.poured !== null && live.poured !== undefined) {
    return { ...plain(inUnit(live.poured, live, here?.unit)), from: 'went in' };
  }
  const counts = here?.counts ?? 'as_captured';
  let value = live.value;
  let from = 'as the gauge shows';
  if (live.zeroed !== undefined && live.zeroed !== null && counts !== 'as_captured') {
    value = counts === 'above_zero' ? -live.zeroed : live.zeroed;
    from = counts === 'above_zero' ? 'above its zero' : 'below its zero';
  }
  return { ...plain(inUnit(value, live, here?.unit)), from };
}
