// Hands on what the microphone hears, sample by sample.
registerProcessor('tape', class extends AudioWorkletProcessor {
  process([[samples]]) {
    if (samples) this.port.postMessage(samples.slice());
    return true;
  }
});
