// A photo made smaller on the device, upright and without what the camera tells beside it, and named by its SHA-256.
const LONGEST = 1600;
const QUALITY = 0.85;

export async function shrink(file) {
  const whole = await createImageBitmap(file, { imageOrientation: 'from-image' });
  const scale = Math.min(1, LONGEST / Math.max(whole.width, whole.height));
  const [width, height] = [whole.width, whole.height].map(side => Math.max(1, Math.round(side * scale)));
  const canvas = Object.assign(document.createElement('canvas'), { width, height });
  const pen = canvas.getContext('2d');
  pen.imageSmoothingQuality = 'high';
  pen.drawImage(whole, 0, 0, width, height);
  whole.close();
  const blob = await new Promise(done => canvas.toBlob(done, 'image/jpeg', QUALITY));
  if (!blob) throw new Error('the picture could not be written');
  const data = new Uint8Array(await blob.arrayBuffer());
  return { blob, sha: await sha256(data) };
}

const hex = bytes => [...bytes].map(byte => byte.toString(16).padStart(2, '0')).join('');

export async function sha256(data) {
  if (crypto.subtle) return hex(new Uint8Array(await crypto.subtle.digest('SHA-256', data)));
  return hex(ownSha256(data)); // plain http has no crypto.subtle
}

export function ownSha256(data) {
  const primes = [];
  for (let n = 2; primes.length < 64; n++) if (primes.every(prime => n % prime)) primes.push(n);
  const fraction = x => ((x - Math.floor(x)) * 2 ** 32) >>> 0;
  const k = primes.map(prime => fraction(Math.cbrt(prime)));
  const state = primes.slice(0, 8).map(prime => fraction(Math.sqrt(prime)));
  const length = ((data.length + 8) >> 6) * 64 + 64;
  const message = new Uint8Array(length);
  message.set(data);
  message[data.length] = 128;
  const view = new DataView(message.buffer);
  view.setUint32(length - 8, Math.floor(data.length / 2 ** 29));
  view.setUint32(length - 4, (data.length << 3) >>> 0);
  const w = new Uint32Array(64);
  const turn = (x, by) => (x >>> by) | (x << (32 - by));
  for (let start = 0; start < length; start += 64) {
    for (let i = 0; i < 16; i++) w[i] = view.getUint32(start + 4 * i);
    for (let i = 16; i < 64; i++) {
      const a = turn(w[i - 15], 7) ^ turn(w[i - 15], 18) ^ (w[i - 15] >>> 3);
      const b = turn(w[i - 2], 17) ^ turn(w[i - 2], 19) ^ (w[i - 2] >>> 10);
      w[i] = w[i - 16] + a + w[i - 7] + b;
    }
    let [a, b, c, d, e, f, g, h] = state;
    for (let i = 0; i < 64; i++) {
      const one = h + (turn(e, 6) ^ turn(e, 11) ^ turn(e, 25)) + ((e & f) ^ (~e & g)) + k[i] + w[i];
      const two = (turn(a, 2) ^ turn(a, 13) ^ turn(a, 22)) + ((a & b) ^ (a & c) ^ (b & c));
      [h, g, f, e, d, c, b, a] = [g, f, e, (d + one) >>> 0, c, b, a, (one + two) >>> 0];
    }
    [a, b, c, d, e, f, g, h].forEach((value, i) => { state[i] = (state[i] + value) >>> 0; });
  }
  const found = new DataView(new ArrayBuffer(32));
  state.forEach((value, i) => found.setUint32(4 * i, value));
  return new Uint8Array(found.buffer);
}
