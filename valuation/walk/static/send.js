// The one sender. Only what the server names as stored loses its mark; sent twice is stored once.
export const API = 1;
const AT_ONCE = 100;
const FIRST_WAIT = 1000, LONGEST_WAIT = 15000;

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

const alone = work => navigator.locks ? navigator.locks.request('walk-sender', { ifAvailable: true }, async lock => {
  if (lock) await work();
}) : work();

// `own` tells the sender what there is and takes what comes back: see walk.js.
export function makeSender(own) {
  let busy = false, again = false, wait = FIRST_WAIT, timer = 0;

  async function round() {
    const entries = own.unsent().slice(0, AT_ONCE);
    const told = await ask('entries', own.token(), {
      method: 'POST', headers: { 'Content-Type': 'application/json' },
      body: JSON.stringify({
        api: API, device: own.device(), now: new Date().toISOString(), since: own.since(),
        entries: entries.map(({ id, at, device, field, value, follows, undoes }) =>
          ({ id, at, device, field, value, follows, undoes })),
      }),
    });
    await own.taken(told, entries);
    if (own.unsent().length) return round();
    for (const photo of own.unsentPhotos()) {
      try {
        const kept = await ask(`photo/${photo.sha}?check=${encodeURIComponent(photo.check)}`, own.token(),
          { method: 'PUT', headers: { 'Content-Type': 'image/jpeg' }, body: photo.blob });
        await own.photoTaken(photo, kept.field);
      } catch (fault) {
        if (fault instanceof Answer && [413, 415].includes(fault.status) || fault.error === 'photo') {
          await own.photoRefused(photo, fault.message);
        } else throw fault;
      }
    }
  }

  async function send() {
    clearTimeout(timer);
    if (busy) {
      again = true;
      return;
    }
    busy = true;
    try {
      if (own.token()) {
        await alone(round);
        wait = FIRST_WAIT;
        own.reached();
      }
    } catch (fault) {
      own.failed(fault);
      wait = Math.min(LONGEST_WAIT, wait * 2);
    } finally {
      busy = false;
    }
    if (again) {
      again = false;
      return send();
    }
    timer = setTimeout(send, own.unsent().length || own.unsentPhotos().length ? wait : LONGEST_WAIT);
  }

  addEventListener('online', send);
  document.addEventListener('visibilitychange', send);
  return send;
}
