// The last minute of the gauge as a line, with the window from which its reading was taken. What
// is expected is not drawn: a hand follows a line that it sees.

import { ask } from './api.js';
import { station, gauge, stop, scale } from './state.js';
import { $ } from './show.js';

const MINUTE_MS = 60000;
/** The least height of the picture, in counts of the gauge, so that noise stays small. */
const LEAST_COUNTS = 40;

const kept = [];
let of = '';
let windows = [];
let due = false;

/**
 * Takes up what the station has of the gauge: a page that was opened just now has heard nothing yet.
 * Values alone come, and the windows of readings that are in: nothing of what is expected.
 */
async function takeUp(name) {
  let minute;
  try {
    minute = await ask('gauges/minute', { name });
  } catch {
    // The line begins with what comes from now on.
    return;
  }
  if (name !== of) return;
  const [from, now] = [kept[0]?.at ?? Date.now(), Date.now()];
  const live = ({ value }) => ({ value, unit: minute.unit, decimals: minute.decimals });
  const before = minute.values.map((one) => ({ at: now - one.ago * 1000, ...point(live(one)) }));
  kept.unshift(...before.filter((p) => p.at < from));
  const began = Date.parse(minute.now);
  for (const r of station.readings.values()) {
    const counts = ['held', 'final'].includes(r.state) && began - Date.parse(r.at) < MINUTE_MS;
    if (counts) taken(r, now - (began - Date.parse(r.at)));
  }
  soon();
}

/** A value as it is drawn; none is a gap. */
function point(live) {
  const seen = live ? scale(live, stop()) : null;
  return { v: seen && Number.isFinite(seen.value) ? seen.value : null, step: seen ? step(seen.text) : 0 };
}

/** Notes the value that the shown gauge has now. */
export function note() {
  const shown = gauge();
  const live = shown?.link === 'live' ? shown.live?.[0] : null;
  const name = shown?.setup.name ?? '';
  if (name !== of) {
    of = name;
    kept.length = 0;
    windows = [];
    takeUp(name);
  }
  const now = Date.now();
  kept.push({ at: now, ...point(live) });
  while (kept.length && kept[0].at < now - MINUTE_MS) kept.shift();
  soon();
}

/** Notes the window of a reading that came just now. One that becomes final was taken before. */
export function taken(reading, to = Date.now()) {
  if (!reading.window_s || reading.gauge !== of) return;
  const stop = `${reading.spot} ${reading.round}`;
  windows = windows.filter((w) => w.to > Date.now() - MINUTE_MS);
  if (windows.some((w) => w.id === reading.id || (w.stop === stop && reading.state === 'final'))) return;
  windows = windows.filter((w) => w.stop !== stop);
  windows.push({ id: reading.id, stop, from: to - reading.window_s * 1000, to });
  soon();
}

const step = (text) => 10 ** -(text.split('.')[1] ?? '').length;

function soon() {
  if (due) return;
  due = true;
  requestAnimationFrame(() => {
    due = false;
    draw();
  });
}

function draw() {
  const canvas = $('trace');
  const [wide, high] = [canvas.clientWidth, canvas.clientHeight];
  if (!wide || !high) return;
  const dots = window.devicePixelRatio || 1;
  if (canvas.width !== Math.round(wide * dots) || canvas.height !== Math.round(high * dots)) {
    canvas.width = Math.round(wide * dots);
    canvas.height = Math.round(high * dots);
  }
  const pen = canvas.getContext('2d');
  pen.setTransform(dots, 0, 0, dots, 0, 0);
  pen.clearRect(0, 0, wide, high);
  const style = getComputedStyle(document.documentElement);
  const colour = (name) => style.getPropertyValue(name).trim();
  const seen = kept.filter((p) => p.v !== null);
  if (seen.length < 2) return;
  const now = Date.now();
  const [low, top] = bounds(seen);
  const x = (at) => wide - 4 - ((now - at) / MINUTE_MS) * (wide - 8);
  const y = (v) => high - 20 - ((v - low) / (top - low)) * (high - 40);
  for (const w of windows) {
    pen.fillStyle = colour('--window');
    pen.fillRect(x(w.from), 0, Math.max(3, x(w.to) - x(w.from)), high);
    pen.strokeStyle = colour('--good');
    pen.lineWidth = 2;
    pen.setLineDash([6, 4]);
    pen.strokeRect(x(w.from), 1, Math.max(3, x(w.to) - x(w.from)), high - 2);
    pen.setLineDash([]);
  }
  pen.strokeStyle = colour('--ink');
  pen.lineWidth = 3;
  pen.lineJoin = 'round';
  pen.beginPath();
  let down = false;
  for (const p of kept) {
    if (p.v === null) {
      down = false;
      continue;
    }
    if (down) pen.lineTo(x(p.at), y(p.v));
    else pen.moveTo(x(p.at), y(p.v));
    down = true;
  }
  pen.stroke();
  pen.fillStyle = colour('--faint');
  // The wall's picture is larger, and looked at from further away.
  const letter = Math.round(Math.min(28, Math.max(14, high / 16)));
  pen.font = `${letter}px system-ui, sans-serif`;
  const decimals = Math.max(0, Math.round(-Math.log10(seen.at(-1).step)));
  pen.fillText(top.toFixed(decimals), 6, letter + 1);
  pen.fillText(low.toFixed(decimals), 6, high - 5);
  pen.textAlign = 'right';
  pen.fillText('now', wide - 6, high - 5);
  pen.textAlign = 'center';
  pen.fillText('30 s', wide / 2, high - 5);
  pen.textAlign = 'left';
}

function bounds(seen) {
  const values = seen.map((p) => p.v);
  let [low, top] = [Math.min(...values), Math.max(...values)];
  const least = LEAST_COUNTS * seen.at(-1).step;
  if (top - low < least) {
    const middle = (low + top) / 2;
    [low, top] = [middle - least / 2, middle + least / 2];
  }
  return [low, top];
}

/** Draws anew when its place changes, and as time passes. */
export function prepare() {
  new ResizeObserver(soon).observe($('trace'));
  setInterval(() => {
    if (station.link === 'live') note();
  }, 1000);
}
