// What the device keeps, in IndexedDB: visits, entries, photos. Every write is on the disk before it is spoken of.
const STRICT = { durability: 'strict' };
let opened = null;

// Called where the browser threw its store away under the open page; see `writeBack`.
export const told = { lost: () => null };

const answer = request => new Promise((done, fail) => {
  request.onsuccess = () => done(request.result);
  request.onerror = () => fail(request.error);
});

async function open() {
  if (opened) return opened;
  const asked = indexedDB.open('walk', 1);
  asked.onupgradeneeded = () => {
    asked.result.createObjectStore('visit', { keyPath: 'id' });
    asked.result.createObjectStore('entry', { keyPath: 'id' }).createIndex('visit', 'visit');
    asked.result.createObjectStore('photo', { keyPath: 'key' }).createIndex('visit', 'visit');
  };
  opened = await answer(asked);
  opened.onclose = () => {
    opened = null;
    told.lost();
  };
  return opened;
}

async function begin(names, mode, options) {
  try {
    return (await open()).transaction(names, mode, options);
  } catch (fault) {
    if (fault.name !== 'InvalidStateError') throw fault;
    opened = null; // just closed by the browser
    return (await open()).transaction(names, mode, options);
  }
}

const read = async (name, ask) => answer(ask((await begin([name])).objectStore(name)));

async function change(names, work, tries = 5) {
  const tx = await begin(names, 'readwrite', STRICT);
  const done = new Promise((kept, fail) => {
    tx.oncomplete = () => kept(true);
    tx.onabort = () => tx.error ? fail(tx.error) : kept(false); // by the browser, which throws its store away
  });
  try {
    work(...names.map(name => tx.objectStore(name)));
  } catch (fault) {
    tx.abort();
    await done;
    throw fault;
  }
  if (await done) return;
  if (!tries) throw new DOMException('not kept', 'AbortError');
  opened = null;
  await new Promise(later => setTimeout(later, 100));
  await change(names, work, tries - 1);
}

const ofVisit = (name, visit) => read(name, store => store.index('visit').getAll(visit));

export const visits = () => read('visit', store => store.getAll());
export const putVisit = visit => change(['visit'], store => store.put(visit));
export const entriesOf = visit => ofVisit('entry', visit);
export const photosOf = async visit => (await ofVisit('photo', visit)).filter(one => !one.sound);
export const soundsOf = async visit => (await ofVisit('photo', visit)).filter(one => one.sound); // files that wait too
export const putEntries = entries => settle(entries, []);
export const putPhoto = photo => change(['photo'], store => store.put(photo));
export const dropPhoto = key => change(['photo'], store => store.delete(key));

export const forget = visit => change(['visit', 'entry', 'photo'], (visits, ...others) => {
  visits.delete(visit);
  for (const store of others) {
    store.index('visit').openKeyCursor(visit).onsuccess = ({ target: { result: here } }) => {
      if (!here) return;
      store.delete(here.primaryKey);
      here.continue();
    };
  }
});

// Puts what the server has answered in the place of what was sent.
export const settle = (entries, gone) => change(['entry'], store => {
  for (const id of gone) store.delete(id);
  for (const entry of entries) store.put(entry);
});

// Puts back what the page still holds and the store does not; answers with how much that was.
export async function writeBack(visit, entries, photos) {
  const own = store => store.index('visit').getAllKeys(visit.id);
  const there = new Set((await Promise.all([read('visit', store => store.getAllKeys()), read('entry', own), read('photo', own)])).flat());
  const lost = [[visit], entries, photos].map(held => held.filter(one => !there.has(one.key ?? one.id)));
  if (lost.flat().length) {
    await change(['visit', 'entry', 'photo'], (...stores) =>
      stores.forEach((store, i) => lost[i].forEach(one => store.put(one))));
  }
  return lost.flat().length;
}

export const askToKeep = async () => navigator.storage?.persist?.().catch(() => false);
