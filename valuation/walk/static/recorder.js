// Ten seconds from the microphone as they are, without what a device does to speech, as a WAV file.
export const SECONDS = 10;
const RAW = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };

// By plain http no browser gives a microphone.
export const canRecord = () => Boolean(navigator.mediaDevices?.getUserMedia && self.AudioWorkletNode);

// `told` is called with the seconds so far. Answers with the file, and whether the browser filters in spite of all.
export async function record(told, signal) {
  const stream = await navigator.mediaDevices.getUserMedia({ audio: { ...RAW, channelCount: 1 } });
  const context = new AudioContext(), [track] = stream.getAudioTracks(), rate = context.sampleRate;
  const pieces = [];
  let count = 0;
  try {
    signal.throwIfAborted(); // somebody has left while the browser asked
    await context.audioWorklet.addModule('tape.js');
    await context.resume();
    const tape = new AudioWorkletNode(context, 'tape');
    await new Promise((done, fail) => {
      track.onended = () => fail(new DOMException('it went away', 'NotReadableError'));
      signal.onabort = () => fail(new DOMException('broken off', 'AbortError'));
      tape.port.onmessage = ({ data }) => {
        pieces.push(data);
        count += data.length;
        told(count / rate);
        if (count >= SECONDS * rate) done();
      };
      context.createMediaStreamSource(stream).connect(tape).connect(context.destination); // which stays silent
    });
    const set = track.getSettings();
    return { blob: wav(pieces, count, rate), filtered: Object.keys(RAW).some(name => set[name]) };
  } finally {
    for (const one of stream.getTracks()) one.stop();
    await context.close();
  }
}

function wav(pieces, count, rate) {
  const file = new DataView(new ArrayBuffer(44 + 2 * count));
  const text = (at, word) => [...word].forEach((sign, i) => file.setUint8(at + i, sign.charCodeAt(0)));
  const whole = (at, bytes, value) => bytes === 4 ? file.setUint32(at, value, true) : file.setUint16(at, value, true);
  text(0, 'RIFF'); whole(4, 4, 36 + 2 * count); text(8, 'WAVEfmt ');
  whole(16, 4, 16); whole(20, 2, 1); whole(22, 2, 1); whole(24, 4, rate); whole(28, 4, 2 * rate); whole(32, 2, 2);
  whole(34, 2, 16); text(36, 'data'); whole(40, 4, 2 * count);
  let at = 44;
  for (const piece of pieces) {
    for (const sample of piece) {
      file.setInt16(at, Math.max(-32768, Math.min(32767, Math.round(32768 * sample))), true);
      at += 2;
    }
  }
  return new Blob([file], { type: 'audio/wav' });
}
