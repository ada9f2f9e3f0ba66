// Speaks and sounds. A browser stays silent until the page was touched; until then, and while
// muted, nothing is queued.

let audio = null;
let muted = localStorage.getItem('muted') === 'yes';
let touched = false;

// Each kind of saying has a figure of tones that is told apart by its shape, not by its pitch
// alone: [frequency in Hz, start in s, length in s].
const TONES = {
  taken: [[660, 0, 0.12], [880, 0.13, 0.2]],
  revised: [[880, 0, 0.1], [660, 0.11, 0.1], [880, 0.22, 0.2]],
  again: [[520, 0, 0.18], [330, 0.2, 0.35]],
  asked: [[440, 0, 0.14], [440, 0.22, 0.14], [700, 0.44, 0.4]],
  gauge: [[240, 0, 0.15], [240, 0.25, 0.15], [240, 0.5, 0.3]],
  done: [[523, 0, 0.15], [659, 0.16, 0.15], [784, 0.32, 0.15], [1047, 0.48, 0.4]],
  refused: [[200, 0, 0.3]],
};

// How high each voice is, against the usual one.
const VOICES = [1, 0.7, 1.4];

const SPOKEN = [
  [/(\d) in\b/g, '$1 inches'],
  [/(\d) mm\b/g, '$1 millimetres'],
  [/(\d) cc\b/g, '$1 c c'],
  [/(\d) inH2O\b/g, '$1 inches of water'],
];

/** The first touch or key lets the browser make sound. */
export function touch() {
  if (touched) return false;
  touched = true;
  try {
    audio = new AudioContext();
    audio.resume();
  } catch {
    audio = null;
  }
  return true;
}

/** `waiting` for the first touch, `on` or `muted`. */
export function state() {
  if (muted) return 'muted';
  return touched ? 'on' : 'waiting';
}

export function toggle() {
  muted = !muted;
  localStorage.setItem('muted', muted ? 'yes' : 'no');
  if (muted) window.speechSynthesis?.cancel();
}

/** Sounds and speaks one saying, in one of several voices. */
export function say(kind, text, voice = 0) {
  if (muted || !touched) return;
  const pitch = VOICES[voice % VOICES.length];
  tone(kind, pitch);
  const speech = window.speechSynthesis;
  if (!speech || kind === 'refused') return;
  // What must be acted on is not kept waiting behind what is only worth knowing.
  if (kind === 'again' || kind === 'asked' || kind === 'gauge' || speech.pending) speech.cancel();
  const words = SPOKEN.reduce((t, [from, to]) => t.replace(from, to), text);
  const utterance = new SpeechSynthesisUtterance(words);
  utterance.lang = 'en';
  utterance.pitch = pitch;
  speech.speak(utterance);
}

function tone(kind, pitch) {
  const figure = TONES[kind];
  if (!audio || !figure) return;
  const now = audio.currentTime + 0.02;
  for (const [frequency, start, length] of figure) {
    const source = audio.createOscillator();
    const level = audio.createGain();
    source.frequency.value = frequency * pitch;
    level.gain.setValueAtTime(0, now + start);
    level.gain.linearRampToValueAtTime(0.25, now + start + 0.01);
    level.gain.linearRampToValueAtTime(0, now + start + length);
    source.connect(level).connect(audio.destination);
    source.start(now + start);
    source.stop(now + start + length + 0.02);
  }
}
