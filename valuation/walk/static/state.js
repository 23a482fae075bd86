// What there is, and what follows from it; nothing here changes anything.
import * as logic from './logic.js';

export const state = {
  screen: 'opening', // opening, closed, home, list, check, extent, review, settings
  visit: null, // as kept on the device: id, token, title, who, content, language, system, seq
  visits: [], fields: new Map(), photos: [], sounds: [], refused: new Map(), read: new Set(),
  list: 'quick', check: '', panel: '', // panel: '', note, photos, sound
  typed: '', section: '', soft: false, count: '', where: [], note: null,
  language: 'en', system: 'metric', look: 'auto', device: '', words: {},
  SoundPanel: null, noteKey: 0, recording: null, // loaded when it is needed; the key to record; how far a recording is
  fault: '', closed: '', reached: false, version: '', offlineReady: false, loaded: false,
  n: 0, // of the entry made last, by which they keep their order whatever the clock does
  elsewhere: [], // visits of which something waits to be sent though another is open
};

export const word = (key, figures = {}) => (state.words[state.language]?.[key] ?? key)
  .replace(/\{(\w+)\}/g, (whole, name) => figures[name] ?? whole);
export const words = () => state.visit.content.words[state.language] ?? Object.values(state.visit.content.words)[0];

// --- what there is

export const checks = () => state.byId ??= new Map(state.visit.content.checks.map(check => [check.id, check]));
export const entriesOf = field => state.fields.get(field) ?? [];
export const findingOf = id => logic.present(entriesOf(`finding.${id}`))?.value ?? null;
export const clashOf = id => logic.clash(entriesOf(`finding.${id}`));
export const photosOf = id => state.photos.filter(photo => photo.check === id && !photo.gone);
export const isAsked = check => logic.isCalledFor(check, findingOf, checks());
export const isDone = check => logic.isMade(findingOf(check.id)) || logic.isUnseen(findingOf(check.id));
export const cautions = () => logic.cautionsOf(state.visit.content.checks, findingOf);
export const unread = () => cautions().find(caution => !state.read.has(caution.id));

export function inList(name = state.list) {
  const asked = state.visit.content.checks.filter(isAsked);
  const [kind, id] = name.split(':');
  if (kind === 'quick') return asked.filter(check => check.quick);
  if (kind === 'part') return asked.filter(check => check.part === id);
  if (kind === 'access') return asked.filter(check => check.access === id);
  if (kind === 'needed') {
    const open = openGates().flatMap(gate => gate.checks);
    return asked.filter(check => open.includes(check.id) || check.must && isDone(check));
  }
  return asked;
}

export const openGates = () => state.visit.content.gates.filter(gate =>
  !gate.checks.some(id => logic.isMade(findingOf(id))));

export const unsent = () => [...state.fields.values()].flat().filter(entry => !entry.seq && !state.refused.has(entry.id))
  .sort((a, b) => a.n - b.n);
export const unsentPhotos = () => state.photos.filter(photo => !photo.sent && !photo.refused && !photo.gone);
export const unsentSounds = () => state.sounds.filter(sound => sound.blob);
export const waiting = () => unsent().length + unsentPhotos().length + unsentSounds().length;

// What is set up once: where to draw, how to send, how to tell other tabs, how to open a visit that is kept.
export const own = { root: null, send: () => null, channel: null, open: () => null };

// Puts entries beside those that are known, less those that the store has under another id.
export function merge(entries, gone = []) {
  for (const [field, there] of gone.length ? state.fields : []) {
    state.fields.set(field, there.filter(entry => !gone.includes(entry.id)));
  }
  for (const entry of entries) {
    const there = entriesOf(entry.field).filter(one => one.id !== entry.id);
    state.fields.set(entry.field, [...there, entry]);
  }
}
