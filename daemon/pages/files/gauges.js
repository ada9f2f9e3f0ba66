// Keeps the pages of the gauges up to date: values as they come, lines as they stand, gauges and
// adapters that are added or taken away. Without it the pages show what was so when they were
// loaded.

import { ask, follow } from '/board/api.js';
import { lineWords } from '/board/words.js';

// An adapter that is plugged in is looked for this often; none is opened for it.
const LOOK_MS = 2000;

const quoted = (name) => CSS.escape(name);
const one = document.querySelector('[data-one-gauge]')?.dataset.oneGauge;

function value(gauge, live) {
  for (const place of document.querySelectorAll(`[data-values="${quoted(gauge)}"]`)) {
    const named = live.length > 1 && place.classList.contains('big');
    for (const channel of live) {
      let cell = place.querySelector(`[data-channel="${quoted(channel.channel)}"]`);
      if (!cell) {
        cell = document.createElement('span');
        cell.dataset.channel = channel.channel;
        place.append(cell, ' ');
      }
      const shown =
        channel.value === null || channel.value === undefined
          ? channel.status || 'no value'
          : `${channel.value.toFixed(channel.decimals)} ${channel.unit}`;
      const text = named ? `${channel.channel} ${shown}` : shown;
      if (cell.textContent !== text) cell.textContent = text;
    }
  }
}

function line(gauge) {
  const name = gauge.setup.name;
  const places = document.querySelectorAll(`[data-line="${quoted(name)}"]`);
  if (places.length === 0 && document.querySelector('[data-all-gauges]')) return renew('gauges', 'ports');
  const todo = gauge.todo ? `: ${gauge.todo}` : '';
  for (const place of places) place.textContent = `${lineWords(gauge.link)}${todo}`;
}

/** Takes parts of this page anew from the daemon; what a person fills in elsewhere stays. */
async function renew(...ids) {
  const response = await fetch(location.href, { cache: 'no-store', credentials: 'same-origin' });
  if (!response.ok) return;
  const page = new DOMParser().parseFromString(await response.text(), 'text/html');
  for (const id of ids) {
    const [here, there] = [document.getElementById(id), page.getElementById(id)];
    if (here && there && !here.contains(document.activeElement)) here.replaceWith(there);
  }
}

function hear(event) {
  if (event.event === 'value') value(event.gauge, event.live);
  if (event.event === 'link') line(event.gauge);
  if (event.event === 'gauge_removed') {
    if (one === event.gauge) location.assign('/gauges');
    else renew('gauges', 'ports');
  }
  if (event.event === 'caught' && event.missed) renew('gauges', 'gauge');
}

/** Shows an adapter that was plugged in or pulled out. */
async function adapters() {
  const place = document.getElementById('ports');
  if (!place) return;
  try {
    const { ports } = await ask('ports', { only: 'usb' });
    const paths = ports.map((port) => port.path).join(' ');
    if (paths !== place.dataset.adapters) await renew('ports');
  } catch {
    // The daemon may be gone for a moment.
  }
  setTimeout(adapters, LOOK_MS);
}

document.addEventListener('submit', (event) => {
  const told = document.getElementById('listening');
  if (!told || !event.target.matches('form.port')) return;
  told.textContent = 'Listening for some ten seconds … move the gauge meanwhile.';
});

let last = null;
try {
  const state = await ask('state');
  last = state.id;
  for (const gauge of state.gauges) {
    line(gauge);
    value(gauge.setup.name, gauge.live ?? []);
  }
} catch {
  last = 0;
}
follow(last, (told) => {
  if (told.shut) location.reload();
  if (told.event) hear(told.event);
});
adapters();
