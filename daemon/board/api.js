// Asks the daemon, and follows its events. Knows nothing of what the answers mean.

// A line comes at least every two seconds, even from a quiet bench; longer than this is a lost
// connection.
const QUIET_MS = 5000;
const WAITS_MS = [300, 600, 1000, 2000, 4000];

export class Refused extends Error {
  constructor(status, refusal) {
    super([refusal.found, refusal.expected, refusal.todo].filter(Boolean).join('; '));
    this.status = status;
    this.refusal = refusal;
  }
}

async function answer(response) {
  if (response.ok) return response.status === 204 ? null : response.json();
  let refusal;
  try {
    refusal = await response.json();
  } catch {
    refusal = { reason: 'unavailable', found: `benchhand answered ${response.status}` };
  }
  throw new Refused(response.status, refusal);
}

async function reach(path, options) {
  try {
    return await fetch(path, { credentials: 'same-origin', cache: 'no-store', ...options });
  } catch {
    throw new Refused(0, { reason: 'unavailable', found: 'benchhand does not answer' });
  }
}

/** Asks a question. */
export async function ask(path, fields = {}) {
  const query = new URLSearchParams(fields).toString();
  return answer(await reach(`/v1/${path}${query ? `?${query}` : ''}`));
}

/** A random key: `crypto.randomUUID` is absent on a page that came over the open network. */
function writeKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (b) => b.toString(16).padStart(2, '0')).join('');
}

/** Asks for a change. One that got no answer is sent once more with the same key. */
export async function change(path, body) {
  const options = {
    method: 'POST',
    headers: { 'content-type': 'application/json', 'idempotency-key': writeKey() },
    body: JSON.stringify(body),
  };
  try {
    return await answer(await reach(`/v1/${path}`, options));
  } catch (error) {
    if (error.status !== 0) throw error;
    return answer(await reach(`/v1/${path}`, options));
  }
}

/**
 * Follows the events after number `last` until `stop` is called. `told` gets `{event}` for each
 * event, `{lost}` when the connection is lost, `{open}` when it is there again, `{shut}` when the
 * daemon does not let this page in any more.
 */
export function follow(last, told) {
  let stopped = false;
  let waits = 0;
  (async () => {
    while (!stopped) {
      try {
        await connection(last, (one) => {
          if (one.id) last = one.id;
          waits = 0;
          told(one);
        });
      } catch (error) {
        if (error.status === 401) {
          told({ shut: true });
          return;
        }
      }
      if (stopped) return;
      told({ lost: true });
      const wait = WAITS_MS[Math.min(waits++, WAITS_MS.length - 1)];
      await new Promise((go) => setTimeout(go, wait));
    }
  })();
  return () => {
    stopped = true;
  };
}

async function connection(last, told) {
  const cut = new AbortController();
  let alarm;
  const alive = () => {
    clearTimeout(alarm);
    alarm = setTimeout(() => cut.abort(), QUIET_MS);
  };
  alive();
  try {
    const response = await reach('/v1/events', {
      headers: { accept: 'text/event-stream', 'last-event-id': String(last) },
      signal: cut.signal,
    });
    if (!response.ok) await answer(response);
    told({ open: true });
    const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
    let rest = '';
    for (;;) {
      const { value, done } = await reader.read();
      if (done) return;
      alive();
      told({ heard: true });
      const blocks = (rest + value).split('\n\n');
      rest = blocks.pop();
      for (const block of blocks) {
        const data = block.split('\n').filter((l) => l.startsWith('data:'));
        if (data.length === 0) continue;
        const event = JSON.parse(data.map((l) => l.slice(5).trim()).join('\n'));
        // `caught` opens a stream and is none of the counted events.
        told({ event, id: event.event === 'caught' ? 0 : event.id });
      }
    }
  } finally {
    clearTimeout(alarm);
  }
}
