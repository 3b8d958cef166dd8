// SHA-256 of a file, in hexadecimal. Browsers offer their own only over https and on this very
// machine; a phone on the studio's plain network gets the arithmetic of FIPS 180-4 below.

export async function sha256(file) {
  const bytes = new Uint8Array(await file.arrayBuffer());
  if (globalThis.crypto?.subtle) {
    return hex(new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)));
  }
  return hex(digest(bytes));
}

function hex(bytes) {
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

function primes(count) {
  const found = [];
  for (let n = 2; found.length < count; n += 1) {
    if (found.every((prime) => n % prime)) found.push(n);
  }
  return found;
}

// The first 32 bits of the fractional parts of roots of the first primes.
const fraction = (root) => ((root - Math.floor(root)) * 2 ** 32) | 0;
const ROUND = primes(64).map((prime) => fraction(Math.cbrt(prime)));
const START = primes(8).map((prime) => fraction(Math.sqrt(prime)));

const turn = (word, by) => (word >>> by) | (word << (32 - by));

export function digest(bytes) {
  const length = (((bytes.length + 8) >> 6) + 1) << 6;
  const padded = new Uint8Array(length);
  padded.set(bytes);
  padded[bytes.length] = 0x80;
  const view = new DataView(padded.buffer);
  view.setUint32(length - 8, Math.floor(bytes.length / 2 ** 29));
  view.setUint32(length - 4, (bytes.length << 3) >>> 0);
  const state = Int32Array.from(START);
  const words = new Int32Array(64);
  for (let block = 0; block < length; block += 64) addBlock(state, words, view, block);
  const out = new DataView(new ArrayBuffer(32));
  state.forEach((word, n) => out.setInt32(4 * n, word));
  return new Uint8Array(out.buffer);
}

function addBlock(state, words, view, block) {
  for (let n = 0; n < 16; n += 1) words[n] = view.getInt32(block + 4 * n);
  for (let n = 16; n < 64; n += 1) {
    const a = words[n - 15];
    const b = words[n - 2];
    const low = turn(a, 7) ^ turn(a, 18) ^ (a >>> 3);
    const high = turn(b, 17) ^ turn(b, 19) ^ (b >>> 10);
    words[n] = (words[n - 16] + low + words[n - 7] + high) | 0;
  }
  let [a, b, c, d, e, f, g, h] = state;
  for (let n = 0; n < 64; n += 1) {
    const choice = (e & f) ^ (~e & g);
    const one = (h + (turn(e, 6) ^ turn(e, 11) ^ turn(e, 25)) + choice + ROUND[n] + words[n]) | 0;
    const most = (a & b) ^ (a & c) ^ (b & c);
    const two = ((turn(a, 2) ^ turn(a, 13) ^ turn(a, 22)) + most) | 0;
    [h, g, f, e, d, c, b, a] = [g, f, e, (d + one) | 0, c, b, a, (one + two) | 0];
  }
  [a, b, c, d, e, f, g, h].forEach((word, n) => {
    state[n] = (state[n] + word) | 0;
  });
}
