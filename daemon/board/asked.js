// A question to the person at the bench: what is asked, its answers as keys, how many pours wait.

import { station, inEngineUnits, question, route } from './state.js';
import { $, element, words } from './show.js';
import { KEYS } from './panels.js';

// A wet finger that taps twice must not answer the question behind this one as well.
const SETTLE_MS = 500;

const ANSWERS = {
  keep: ['Keep', 'the value is right'],
  again: ['Again', 'measure this stop again'],
  type: ['Type', 'give the right value'],
  split: ['Two pours', 'a rest parts them'],
  refill: ['Refill', 'no pour of a chamber'],
  delivered: ['Delivered', 'it was poured out'],
  skip: ['Next one', 'it belongs to the next stop'],
};

/** What an answer means where the question gives it another sense. */
const MEANT = {
  which_again: { again: ['Yes, again', 'void the last reading'], keep: ['No, keep it', 'go on at this stop'] },
  one_or_two: { keep: ['One pour', 'all of it is one'] },
  lost_pour: { skip: ['Skip', 'leave this stop without a value'] },
  old_zero: { keep: ['Keep', 'the zero still stands'] },
  earlier: { keep: ['Keep', 'that reading is right'], again: ['Again', 'measure that stop again'] },
  broken_off: { keep: ['Keep', 'nothing more went in'], again: ['Again', 'measure that stop again'] },
};

const meant = (q, word) => MEANT[q.about]?.[word] ?? ANSWERS[word] ?? [word, ''];
const letter = (word) => KEYS.find((key) => key[2] === word)?.[0] ?? '';

let shown = '';
let settling = null;

/** Shows the question, or that there is none. */
export function show() {
  const q = question();
  document.querySelector('main').dataset.asked = String(Boolean(q));
  $('asked').hidden = !q;
  const now = q ? JSON.stringify([station.job, q]) : '';
  const waiting = route()?.waiting ?? 0;
  words($('asked-waits'), waits(q, waiting));
  $('asked-drop').hidden = waiting === 0;
  if (now === shown) return;
  shown = now;
  words($('asked-text'), inEngineUnits(q?.text ?? ''));
  $('asked-drop').disabled = true;
  $('answers').replaceChildren(...(q?.answers ?? []).map((word) => key(q, word)));
  clearTimeout(settling);
  if (q) settling = setTimeout(settled, SETTLE_MS);
  fit();
}

/** How many values wait behind the question; of liquid they are pours. */
function waits(q, count) {
  if (count === 0) return '';
  const poured = !q?.shown || ['cc', 'mL', 'L', 'g', 'kg'].includes(q.shown.split(' ').at(-1));
  const one = poured ? 'pour' : 'value';
  return count === 1 ? `1 more ${one} waits` : `${count} more ${one}s wait`;
}

function key(q, word) {
  const [label, what] = meant(q, word);
  const button = element('button');
  button.type = 'button';
  button.disabled = true;
  button.dataset.do = word;
  button.setAttribute('aria-keyshortcuts', letter(word));
  const name = element('span', `${label} `, 'label');
  name.append(element('kbd', letter(word).toUpperCase()));
  button.append(name, element('span', what, 'what'));
  return button;
}

function settled() {
  for (const button of [...$('answers').children, $('asked-drop')]) button.disabled = false;
}

/** Why a key is no answer to what is asked, or an empty text where it may be pressed. */
export function noAnswer(word) {
  const q = question();
  const answersOnly = ['keep', 'refill', 'delivered'].includes(word);
  if (!q) return answersOnly || word === 'drop' ? 'Nothing is asked.' : '';
  if (word === 'drop' && !route()?.waiting) return 'Nothing waits behind the question.';
  if (!answersOnly || q.answers.includes(word)) return '';
  const can = q.answers.map((a) => `${meant(q, a)[0]} (${letter(a).toUpperCase()})`);
  return `${ANSWERS[word][0]} is no answer here: ${can.join(', ')}.`;
}

/** The question as large as its place allows: it is read from across the room. */
function fit() {
  const text = $('asked-text');
  if ($('asked').hidden) return;
  const [wide, high] = [window.innerWidth, window.innerHeight];
  let size = wide < 900 ? Math.max(26, wide * 0.115) : high < 700 ? high * 0.08 : wide * 0.085;
  for (; size > 12; size -= 1) {
    text.style.fontSize = `${size}px`;
    if (text.scrollHeight <= text.clientHeight && text.scrollWidth <= text.clientWidth) return;
  }
}

/** Keeps it so when its place changes. */
export function prepare() {
  new ResizeObserver(fit).observe($('asked-text'));
}
