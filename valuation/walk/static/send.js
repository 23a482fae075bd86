// The one sender. Only what the server names as stored loses its mark; sent twice is stored once.
export const API = 1;
const AT_ONCE = 100;
const SOON = 300, FIRST_WAIT = 1000, LONGEST_WAIT = 15000; // after a tap the next screen comes first

export class Answer extends Error {
  constructor(status, told) {
    super(told.say ?? '');
    Object.assign(this, { status, error: told.error ?? '' });
  }
}

export async function ask(path, token, options = {}) {
  const headers = { Authorization: `Bearer ${token}`, ...options.headers };
  const answer = await fetch(`api/${path}`, { ...options, headers, cache: 'no-store', credentials: 'omit' });
  const told = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Answer(answer.status, told);
  return told;
}

const alone = work => navigator.locks ? navigator.locks.request('walk-sender', { ifAvailable: true }, lock =>
  lock ? work() : false) : work();

const sent = ({ id, at, device, field, value, follows, undoes }) => ({ id, at, device, field, value, follows, undoes });

async function sendEntries(queue) {
  do {
    const entries = queue.unsent().slice(0, AT_ONCE);
    const told = await ask('entries', queue.visit.token, {
      method: 'POST', headers: { 'Content-Type': 'application/json' },
      body: JSON.stringify({
        api: API, device: queue.device, now: new Date().toISOString(), since: queue.visit.seq ?? 0,
        entries: entries.map(sent),
      }),
    });
    await queue.taken(told, entries);
  } while (queue.unsent().length);
}

async function sendPhoto(queue, photo) {
  try {
    const kept = await ask(`photo/${photo.sha}?check=${encodeURIComponent(photo.check)}`, queue.visit.token,
      { method: 'PUT', headers: { 'Content-Type': 'image/jpeg' }, body: photo.blob });
    await queue.photoTaken(photo, kept.field);
  } catch (fault) {
    // what no try mends must not hold up the others; it stays on the device
    if (![413, 415, 422].includes(fault.status) || fault.error === 'hash') throw fault;
    await queue.photoRefused(photo, fault.message);
  }
}

// A recording is read by the server; asked twice it says the same.
async function sendSound(queue, sound) {
  try {
    const asked = `check=${encodeURIComponent(sound.check)}&key=${sound.note}&language=${queue.language}`;
    await queue.heard(sound, await ask(`sound?${asked}`, queue.visit.token,
      { method: 'POST', headers: { 'Content-Type': 'audio/wav' }, body: sound.blob }));
  } catch (fault) {
    if (![413, 415, 422].includes(fault.status)) throw fault;
    await queue.heard(sound, { refused: fault.message });
  }
}

// `queues` gives what waits, a queue for each visit on the device: see sending.js.
export function makeSender(queues) {
  let busy = false, due = 0, wait = FIRST_WAIT, timer = 0, soon = 0; // due: 1 the open visit, 2 every visit on the device

  async function empty(every) {
    let all = true;
    for (const queue of await queues(every)) {
      try {
        await sendEntries(queue);
        for (const photo of queue.unsentPhotos()) await sendPhoto(queue, photo);
        for (const sound of queue.unsentSounds()) await sendSound(queue, sound);
        queue.reached();
      } catch (fault) {
        queue.failed(fault);
        all = false;
        if (!(fault instanceof Answer)) break; // nobody is there
      }
    }
    return all;
  }

  async function send(every) {
    clearTimeout(timer);
    due = Math.max(due, every ? 2 : 1);
    if (busy) return;
    busy = true;
    let all = true;
    try {
      while (due) {
        const now = due;
        due = 0;
        all = await alone(() => empty(now === 2));
      }
    } finally {
      busy = false;
    }
    wait = all ? LONGEST_WAIT : Math.min(LONGEST_WAIT, wait * 2);
    timer = setTimeout(send, wait, true);
    if (all) wait = FIRST_WAIT;
  }

  addEventListener('online', send);
  document.addEventListener('visibilitychange', send);
  return every => {
    if (every) return send(every);
    soon ||= setTimeout(() => {
      soon = 0;
      send();
    }, SOON);
  };
}
