// What waits to be sent, of the visit in sight and of others on this device, and what becomes of the answers.
import { lookForNewer } from './fresh.js';
import * as local from './local.js';
import { Answer } from './send.js';
import { merge, own, state, unsent, unsentPhotos, unsentSounds, word } from './state.js';
import { draw, notKept } from './walk.js';

// The open visit first, then those that wait: to read them all at every tap would keep the next one waiting.
export async function queues(every) {
  if (state.visit && !every) return [openQueue(state.visit)];
  const others = (await local.visits()).filter(visit => visit.id !== state.visit?.id);
  const kept = await Promise.all(others.map(keptQueue));
  const waiting = kept.filter(queue => queue.unsent().length || queue.unsentPhotos().length);
  state.elsewhere = kept.filter(queue => !queue.isThrough).map(queue => queue.visit.id);
  for (const { visit, isThrough } of kept) {
    if (!isThrough || !(Date.parse(visit.until) < Date.now())) continue;
    await local.forget(visit.id); // the link is over and all of it is with the server: nothing of it stays on a telephone
    state.visits = state.visits.filter(one => one.id !== visit.id);
  }
  return state.visit ? [openQueue(state.visit), ...waiting] : waiting;
}

// Marks what an answer settles: ids that the store has under another, and entries to be kept anew.
function settled(told, sent, waiting) {
  const gone = Object.keys(told.stored).filter(id => told.stored[id] !== id); // said before, or nothing to take back
  const changed = new Set();
  for (const entry of waiting) {
    if (!entry.follows.some(id => gone.includes(id))) continue;
    entry.follows = entry.follows.map(id => told.stored[id] ?? id).filter(Boolean);
    changed.add(entry);
  }
  for (const entry of sent) {
    if (told.stored[entry.id] === entry.id) changed.add(Object.assign(entry, { seq: entry.seq || 1 }));
    if (told.refused[entry.id]) changed.add(Object.assign(entry, { refused: told.refused[entry.id] }));
  }
  return { gone, changed: [...changed].filter(entry => !gone.includes(entry.id)) };
}

async function keep(visit, told, { gone, changed }) {
  const came = told.entries.map(entry => ({ ...entry, visit: visit.id, n: entry.seq }));
  try {
    await local.settle([...changed, ...came], gone);
    visit.seq = Math.max(visit.seq, told.seq);
  } catch (fault) {
    if (fault.name !== 'QuotaExceededError') throw fault;
    // a full device still sends what it holds; after a reload it does so again, and the store takes nothing twice
    for (const entry of came) entry.elsewhere = true;
  }
  return came;
}

function openQueue(visit) {
  const here = () => state.visit?.id === visit.id; // another may have been opened since
  return {
    visit, device: state.device,
    unsent: () => here() ? unsent() : [],
    unsentPhotos: () => here() ? unsentPhotos() : [],
    unsentSounds: () => here() ? unsentSounds() : [],
    get language() { return state.language; },
    async taken(told, sent) {
      const answer = settled(told, sent, this.unsent()), came = await keep(here() ? state.visit : visit, told, answer);
      if (!here()) return;
      for (const entry of sent) if (entry.refused) state.refused.set(entry.id, entry.refused);
      merge(came, answer.gone);
      if (state.version && told.version !== state.version) lookForNewer();
      if (sent.length || came.length) {
        own.channel?.postMessage({ visit: visit.id, gone: answer.gone });
        draw();
      }
    },
    photoTaken: (photo, field) => kept(photo, { sent: true, field }).then(draw),
    photoRefused: (photo, refused) => kept(photo, { refused }).then(draw),
    heard: async (sound, told) => here() && (await import('./sounds.js')).heard(sound, told),
    reached() {
      const news = !state.reached || state.closed;
      Object.assign(state, { reached: true, closed: '' });
      if (news) draw();
    },
    failed(fault) {
      const before = `${state.reached} ${state.closed}`;
      state.reached = false;
      if (fault instanceof Answer) {
        if (fault.status === 426) lookForNewer();
        state.closed = [401, 409].includes(fault.status) ? fault.error : '';
      }
      if (before !== `${state.reached} ${state.closed}`) draw();
      heal();
    },
  };
}

async function kept(photo, more) {
  try {
    await local.putPhoto(Object.assign(photo, more));
  } catch (fault) {
    if (fault.name !== 'QuotaExceededError') throw fault;
    if (!more.sent) return;
    await local.dropPhoto(photo.key); // the server has it, and a full device needs the room
    photo.elsewhere = true;
  }
}

// Up to where the device knows the store's order: what came last is kept with its place.
export const lastSeq = entries => Math.max(0, ...entries.map(entry => entry.seq));

async function keptQueue(visit) {
  const entries = (await local.entriesOf(visit.id)).sort((a, b) => a.n - b.n);
  const [photos, sounds] = [await local.photosOf(visit.id), await local.soundsOf(visit.id)];
  let gone = [];
  visit.seq = lastSeq(entries);
  return {
    visit, device: state.device,
    isThrough: entries.every(entry => entry.seq) && photos.every(photo => photo.sent) && !sounds.length,
    unsent: () => entries.filter(entry => !entry.seq && !entry.refused && !gone.includes(entry.id)),
    unsentPhotos: () => photos.filter(photo => !photo.sent && !photo.refused && !photo.gone),
    async taken(told, sent) {
      const answer = settled(told, sent, this.unsent());
      await keep(visit, told, answer);
      gone = [...gone, ...answer.gone];
    },
    photoTaken: (photo, field) => kept(photo, { sent: true, field }),
    photoRefused: (photo, refused) => kept(photo, { refused }),
    unsentSounds: () => [], // what they say is entered where their visit is open
    reached: () => null,
    failed: () => null,
  };
}

// Writes back what the page still holds where the browser threw its store away.
export async function heal() {
  const [entries, files] = [[...state.fields.values()].flat(), [...state.photos, ...state.sounds]]
    .map(held => held.filter(one => !one.elsewhere)); // what only the server keeps was not lost here
  try {
    if (!await local.writeBack(state.visit, entries, files)) return;
    state.fault = word('written_back');
  } catch (fault) {
    state.fault = notKept(fault);
  }
  draw();
}
