// A gloved hand taps twice: the second tap of a pair is not meant.

const TWICE_MS = 350;
let last = 0;

export function meant() {
  const now = performance.now();
  const twice = now - last < TWICE_MS;
  if (!twice) last = now;
  return !twice;
}
