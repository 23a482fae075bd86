// What the device keeps, in IndexedDB: visits, entries, photos. Every write is on the disk before it is spoken of.
import { openDB } from './vendor/idb.mjs';

const STRICT = { durability: 'strict' };
let opened = null;

const open = () => opened ??= openDB('walk', 1, {
  upgrade(db) {
    db.createObjectStore('visit', { keyPath: 'id' });
    db.createObjectStore('entry', { keyPath: 'id' }).createIndex('visit', 'visit');
    db.createObjectStore('photo', { keyPath: 'key' }).createIndex('visit', 'visit');
  },
  terminated() { opened = null; },
});

async function change(stores, work) {
  const db = await open();
  const tx = db.transaction(stores, 'readwrite', STRICT);
  try {
    await work(...stores.map(name => tx.objectStore(name)));
    await tx.done;
  } catch (fault) {
    await tx.done.catch(() => null);
    throw fault;
  }
}

export const visits = async () => (await open()).getAll('visit');
export const putVisit = visit => change(['visit'], store => store.put(visit));
export const entriesOf = async visit => (await open()).getAllFromIndex('entry', 'visit', visit);
export const photosOf = async visit => (await open()).getAllFromIndex('photo', 'visit', visit);
export const putEntries = entries => change(['entry'], store => Promise.all(entries.map(entry => store.put(entry))));
export const putPhoto = photo => change(['photo'], store => store.put(photo));
export const dropPhoto = key => change(['photo'], store => store.delete(key));

// Puts what the server has answered in the place of what was sent.
export const settle = (entries, gone) => change(['entry'], async store => {
  for (const id of gone) await store.delete(id);
  for (const entry of entries) await store.put(entry);
});

// Where the browser threw its store away under an open page, what the page still holds goes back.
export async function writeBack(visit, entries, photos) {
  const db = await open();
  const there = new Set([...await db.getAllKeysFromIndex('entry', 'visit', visit.id),
    ...await db.getAllKeysFromIndex('photo', 'visit', visit.id)]);
  const lost = entries.filter(entry => !there.has(entry.id));
  const lostPhotos = photos.filter(photo => !there.has(photo.key));
  if (!lost.length && !lostPhotos.length) return 0;
  await change(['visit', 'entry', 'photo'], async (ofVisits, ofEntries, ofPhotos) => {
    await ofVisits.put(visit);
    for (const entry of lost) await ofEntries.put(entry);
    for (const photo of lostPhotos) await ofPhotos.put(photo);
  });
  return lost.length + lostPhotos.length;
}

export async function askToKeep() {
  try {
    return (await navigator.storage?.persist?.()) ?? false;
  } catch {
    return false;
  }
}
