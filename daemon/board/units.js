// The units of the values that a route shows, so that the board shows those of the engine's choice.
// Each in mm, cc, g, Pa or L/min; the factors are those of the units' own table (units/src/lib.rs),
// and a test compares the two.

const IN_BASE = {
  length: { mm: 1, um: 1e-3, cm: 10, in: 25.4, thou: 0.0254 },
  volume: { cc: 1, L: 1e3, in3: 16.387064 },
  mass: { g: 1, mg: 1e-3, kg: 1e3, oz: 28.349523125, lb: 453.59237 },
  pressure: { Pa: 1, hPa: 100, kPa: 1e3, bar: 1e5, psi: 6894.757293168361, inH2O: 249.08891, mmH2O: 9.80665 },
  flow: { 'L/min': 1, 'L/s': 60, cfm: 28.316846592, 'm3/h': 1000 / 60 },
};

/** What a number in `from` is multiplied by to be in `to`; null where they are of no one kind. */
export function factor(from, to) {
  if (!to || from === to) return from === to ? 1 : null;
  for (const kind of Object.values(IN_BASE)) if (kind[from] && kind[to]) return kind[from] / kind[to];
  return null;
}

/** A size such as `100 cc` in another unit, or null. */
export function size(text, to) {
  const [number, unit] = (text ?? '').split(' ');
  const by = factor(unit, to);
  return by === null || !Number.isFinite(Number(number)) ? null : Number(number) * by;
}
