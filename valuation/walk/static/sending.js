// What the sender is told of this device, and what becomes of the server's answers.
import { lookForNewer } from './fresh.js';
import * as local from './local.js';
import { Answer } from './send.js';
import { merge, own, state, unsent, unsentPhotos, word } from './state.js';
import { draw } from './walk.js';

export const sender = {
  token: () => state.visit?.token ?? '',
  device: () => state.device,
  since: () => state.visit.seq ?? 0,
  unsent, unsentPhotos,
  async taken(told, sent) {
    const sentIds = new Set(sent.map(entry => entry.id)), gone = [], changed = [];
    for (const [id, as] of Object.entries(told.stored)) {
      if (as !== id) {
        gone.push(id); // somebody had said the same before, or there was nothing to take back
        for (const entry of unsent()) if (entry.follows.includes(id)) {
          entry.follows = entry.follows.map(name => name === id ? as : name).filter(Boolean);
          changed.push(entry);
        }
      }
    }
    for (const [id, why] of Object.entries(told.refused)) if (sentIds.has(id)) state.refused.set(id, why);
    const came = told.entries.map(entry => ({ ...entry, visit: state.visit.id, n: entry.seq }));
    const known = new Set(came.map(entry => entry.id));
    for (const entry of sent) { // stored before, and so not among what is new
      if (told.stored[entry.id] === entry.id && !known.has(entry.id)) changed.push(Object.assign(entry, { seq: entry.seq || 1 }));
    }
    for (const entry of sent) if (state.refused.has(entry.id)) changed.push(Object.assign(entry, { refused: state.refused.get(entry.id) }));
    await local.settle([...came, ...changed], gone);
    for (const [field, entries] of state.fields) state.fields.set(field, entries.filter(entry => !gone.includes(entry.id)));
    merge(came);
    state.visit.seq = Math.max(state.visit.seq ?? 0, told.seq);
    await local.putVisit(state.visit);
    if (state.version && told.version !== state.version) lookForNewer();
    if (sent.length || came.length) {
      own.channel?.postMessage(state.visit.id);
      draw();
    }
  },
  async photoTaken(photo, field) {
    await local.putPhoto(Object.assign(photo, { sent: true, field }));
    draw();
  },
  async photoRefused(photo, why) {
    await local.putPhoto(Object.assign(photo, { refused: why }));
    draw();
  },
  reached() {
    const news = !state.reached || state.closed;
    Object.assign(state, { reached: true, closed: '' });
    if (news) draw();
  },
  failed(fault) {
    state.reached = false;
    if (fault instanceof Answer) {
      if (fault.status === 426) lookForNewer();
      state.closed = [401, 409].includes(fault.status) ? fault.error : '';
    }
    draw();
    if (state.visit) heal();
  },
};

async function heal() {
  if (!state.visit) return;
  const all = [...state.fields.values()].flat();
  const back = await local.writeBack(state.visit, all, state.photos).catch(() => 0);
  if (back) {
    state.fault = word('written_back');
    draw();
  }
}
