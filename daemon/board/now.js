// What the state panel says: one state out of what is known. Draws nothing, asks nothing.
//
// A state is told by colour, shape (its frame and its sign) and word.

import { station, gauge, question, route, stop } from './state.js';

/** How long a reading stands large where nothing moves meanwhile. */
const STANDS_MS = 6000;

/** Each state: its sign and its word. `states.css` gives it colour and frame. */
export const STATES = {
  ready: ['▶', 'READY'],
  pouring: ['▼', 'POURING'],
  filling: ['▲', 'FILLING'],
  settling: ['≈', 'SETTLING'],
  got: ['✓', 'GOT IT'],
  asked: ['?', 'ASKED'],
  held: ['‖', 'HELD BY YOU'],
  lost: ['✕', 'LOST'],
  type: ['✎', 'TYPE IT'],
  away: ['○', 'NOT TOUCHING'],
  done: ['■', 'DONE'],
  none: ['○', ''],
};

/** Whether the last reading stands large: until the gauge moves, or for a few seconds. */
function stands(phase) {
  if (!station.last) return false;
  // A pour that rests half-way, or before its refill, is not the one that was read last.
  if (phase === 'held') {
    return route().stops.some((s) => s.reading === station.last.reading && s.state === 'held');
  }
  if (station.last.ranSince) return false;
  const rests = ['waiting', 'idle', 'still', 'away'].includes(phase);
  return rests && Date.now() - station.last.at < STANDS_MS;
}

/** The state of the panel, and the word for it where that is not the state's own word. */
export function now() {
  const r = route();
  if (question()) return { state: 'asked' };
  if (!r) return { state: 'none', word: station.job ? 'NO ROUTE' : 'NO JOB' };
  if (!r.running) return r.done ? { state: 'done' } : { state: 'none', word: 'HALF-WAY' };
  const shown = gauge();
  if (!shown) return { state: 'lost', word: 'NO GAUGE' };
  if (r.prompt?.startsWith('on hold')) return { state: 'held' };
  if (shown.link === 'by eye') return stands('idle') ? { state: 'got' } : { state: 'type' };
  if (shown.link !== 'live') {
    const word = { silent: 'SILENT', opening: 'OPENING', open: 'NOT HEARD YET' }[shown.link];
    return { state: 'lost', word };
  }
  const phase = shown.live?.[0]?.phase;
  // A value that waits for the rest of its pour is not taken yet.
  if (phase === 'held' && r.so_far) return { state: 'settling' };
  if (stands(phase)) return { state: 'got' };
  const of = {
    delivering: 'pouring',
    refilling: 'filling',
    moving: 'settling',
    still: 'settling',
    held: 'settling',
    away: 'away',
    paused: 'held',
  }[phase];
  return { state: of ?? 'ready' };
}

/** Whether more is poured into the chamber that was read last, before the next pour begins. */
export function goesOn() {
  const live = gauge()?.live?.[0];
  if (!station.last || live?.phase !== 'delivering' || !live.poured) return false;
  const here = stop();
  return here?.spot !== station.last.spot && live.poured >= station.last.poured - 2 * 10 ** -live.decimals;
}
