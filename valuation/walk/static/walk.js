// State and what can be done with it. Each action changes `state` and draws; what is entered is on the disk first.
import { render } from './vendor/preact.mjs';
import { lookForNewer, ownVersion, readyOffline } from './fresh.js';
import * as local from './local.js';
import * as logic from './logic.js';
import { shrink } from './photo.js';
import { Answer, ask, makeSender } from './send.js';
import { html, Page } from './view.js';

const REMEMBERED = 'walk';
export const LANGUAGES = ['en', 'de'];
const NOTE_PAUSE = 900;

export const state = {
  screen: 'opening', // opening, closed, home, list, check, extent, review, settings
  visit: null, // as kept on the device: id, token, title, who, content, language, system, seq
  visits: [], fields: new Map(), photos: [], refused: new Map(), read: new Set(),
  list: 'quick', check: '', panel: '', // panel: '', note, photos
  typed: '', section: '', soft: false, count: '', where: [], note: null,
  language: 'en', system: 'metric', look: 'auto', device: '', words: {},
  fault: '', closed: '', reached: false, version: '', offlineReady: false, at: 0,
};
let root = null, send = () => null, noteTimer = 0, channel = null;

const settings = () => JSON.parse(localStorage.getItem(REMEMBERED) ?? '{}');
const remember = more => localStorage.setItem(REMEMBERED, JSON.stringify({ ...settings(), ...more }));

export const word = (key, figures = {}) => (state.words[state.language]?.[key] ?? key)
  .replace(/\{(\w+)\}/g, (whole, name) => figures[name] ?? whole);
export const words = () => state.visit.content.words[state.language] ?? Object.values(state.visit.content.words)[0];

// --- what there is

export const checks = () => state.byId ??= new Map(state.visit.content.checks.map(check => [check.id, check]));
const entriesOf = field => state.fields.get(field) ?? [];
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
  if (kind === 'needed') return asked.filter(check => check.must);
  return asked;
}

export const openGates = () => state.visit.content.gates.filter(gate =>
  !gate.checks.some(id => logic.isMade(findingOf(id))));

export const unsent = () => [...state.fields.values()].flat().filter(entry => !entry.seq && !state.refused.has(entry.id))
  .sort((a, b) => a.n - b.n);
export const unsentPhotos = () => state.photos.filter(photo => !photo.sent && !photo.refused && !photo.gone);

// --- drawing

let focused = '';
export function draw() {
  document.documentElement.lang = state.language;
  document.documentElement.dataset.look = state.look === 'auto'
    ? (matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'light') : state.look;
  const stop = state.visit?.content && !['opening', 'closed'].includes(state.screen) ? unread() : null;
  Object.assign(root.dataset, {
    screen: stop ? 'stop' : state.screen, check: state.check, language: state.language, reached: state.reached,
    unsent: state.visit ? unsent().length + unsentPhotos().length : 0, offline: state.offlineReady,
    photos: state.photos.length,
  });
  render(html`<${Page} state=${state} stop=${stop} />`, root);
  const here = `${stop?.id ?? ''} ${state.screen} ${state.list} ${state.check} ${state.panel}`;
  if (here !== focused) {
    focused = here;
    (root.querySelector('[data-focus]') ?? root.querySelector('h1'))?.focus({ preventScroll: true });
    root.querySelector('main')?.scrollTo(0, 0);
  }
}

function go(screen, more = {}) {
  saveNote();
  Object.assign(state, { screen, panel: '', typed: '', count: '', where: [], note: null, fault: '' }, more);
  keepPlace();
  draw();
}

// What a reload would lose: where one is, and half-typed digits.
function keepPlace() {
  const { screen, list, check, typed, section, soft } = state;
  remember({ places: { ...settings().places, [state.visit.id]: { screen, list, check, typed, section, soft } } });
}

function toCheck(check) {
  const values = findingOf(check.id);
  go('check', {
    check: check.id, section: check.answer === 'readings' ? state.section || 'bass' : '', soft: false,
    typed: '', at: values?.readings?.length ?? 0,
  });
}

// --- entering

async function put(field, value, undoes = '') {
  const there = entriesOf(field);
  if (!undoes && logic.says(there, value)) return true;
  const entry = {
    id: logic.newId(), visit: state.visit.id, at: new Date().toISOString(), n: Date.now() + Math.random(),
    who: state.visit.who, device: state.device, field, value, undoes, seq: 0,
    follows: logic.heads(there).map(head => head.id),
  };
  try {
    await local.putEntries([entry]);
  } catch (fault) {
    // said and left standing: nothing goes on as if it were kept
    state.fault = word('not_kept', { why: fault?.name === 'QuotaExceededError' ? word('device_full') : String(fault?.name) });
    draw();
    return false;
  }
  state.fields.set(field, [...there, entry]);
  state.fault = '';
  channel?.postMessage(state.visit.id);
  send();
  return true;
}

const kept = finding => Object.fromEntries(
  ['note', 'count', 'sections'].filter(key => finding?.[key] !== undefined).map(key => [key, finding[key]]));

const putFinding = (id, value) => put(`finding.${id}`, value && Object.keys(value).length ? value : null);

async function answered(check) {
  const grade = logic.gradeOf(check.reads[0], findingOf(check.id));
  if (check.extent && grade && grade !== 'none') go('extent', { count: '', where: [...findingOf(check.id).sections ?? []] });
  else act.next();
}

export const act = {
  home: () => go('home'),
  review: () => go('review'),
  settings: () => go('settings'),
  lists: () => go('list', { list: '' }),
  open(list) {
    const open = inList(list).find(check => !isDone(check)) ?? inList(list)[0];
    state.list = list;
    if (open) toCheck(open);
  },
  list: list => go('list', { list }),
  to(id, list = state.list) {
    state.list = inList(list).some(check => check.id === id) ? list : 'all';
    toCheck(checks().get(id));
  },
  next() {
    const here = inList(), place = here.findIndex(check => check.id === state.check);
    const open = [...here.slice(place + 1), ...here.slice(0, Math.max(place, 0))].find(check => !isDone(check));
    if (open) toCheck(open);
    else go('home');
  },
  skip() {
    const here = inList(), place = here.findIndex(check => check.id === state.check);
    const after = here.slice(place + 1).find(check => !isDone(check));
    if (after) toCheck(after);
    else go('home');
  },
  back() {
    if (state.panel) return act.panel('');
    if (state.screen === 'extent') return toCheck(checks().get(state.check));
    if (state.screen === 'check') {
      const here = inList(), place = here.findIndex(check => check.id === state.check);
      if (place > 0) return toCheck(here[place - 1]);
    }
    if (state.screen === 'list' && state.list) return act.lists();
    return go('home');
  },
  async choose(grade) {
    const check = checks().get(state.check), before = findingOf(check.id);
    const beside = before?.grade === grade ? kept(before) : before?.note ? { note: before.note } : {};
    if (await putFinding(check.id, { grade, ...beside })) await answered(check);
  },
  async unseen() {
    const before = findingOf(state.check);
    if (await putFinding(state.check, { cannot_see: true, ...(before?.note ? { note: before.note } : {}) })) act.next();
  },
  async clear() {
    const before = findingOf(state.check);
    if (await putFinding(state.check, before?.note ? { note: before.note } : null)) toCheck(checks().get(state.check));
  },
  async type(sign) {
    const check = checks().get(state.check), on = state.screen === 'extent' ? 'count' : 'typed';
    let text = state[on];
    if (sign === 'back') text = text.slice(0, -1);
    else if (sign === '-') text = text.startsWith('-') ? text.slice(1) : `-${text}`;
    else if (sign === '.') text = text.includes('.') || on === 'count' ? text : `${text || '0'}.`;
    else if (text.length < 7) text += sign;
    state[on] = text;
    state.fault = '';
    keepPlace();
    if (on === 'typed' && check.pieces && sign !== 'back' && logic.isWholePin(text, state.system)) return act.enter();
    draw();
  },
  async enter() {
    const check = checks().get(state.check);
    if (state.screen === 'extent') return act.extent();
    if (check.answer === 'choice') return;
    if (!state.typed) return check.answer === 'readings' && isDone(check) ? act.next() : undefined;
    if (!logic.isNumber(state.typed)) return;
    const value = Math.round(Number.parseFloat(state.typed) * check.factors[state.system] * 1e6) / 1e6;
    if (value < check.low - 1e-6 || value > check.high + 1e-6) {
      const [low, high] = [check.low, check.high].map(end => logic.shown(end, check.factors[state.system], state.language));
      state.fault = word('out_of_bounds', { low, high, unit: words().checks[check.id].units[state.system] });
      return draw();
    }
    const before = findingOf(check.id);
    const reading = { value, section: check.answer === 'readings' && state.section !== 'any' ? state.section : '' };
    if (state.soft) reading.soft = true;
    const readings = check.answer === 'readings' ? [...before?.readings ?? [], reading] : [reading];
    if (!await putFinding(check.id, { readings, ...kept(before) })) return;
    if (check.answer === 'number') return answered(check);
    Object.assign(state, { typed: '', soft: false });
    keepPlace();
    draw();
  },
  async dropReading(index) {
    const before = findingOf(state.check), readings = before.readings.filter((_, i) => i !== index);
    if (await putFinding(state.check, readings.length ? { ...before, readings } : kept(before))) draw();
  },
  section(section) {
    state.section = section;
    keepPlace();
    draw();
  },
  soft() {
    state.soft = !state.soft;
    keepPlace();
    draw();
  },
  where(section) {
    state.where = logic.SECTIONS.filter(one => state.where.includes(one) !== (one === section));
    draw();
  },
  async extent() {
    const { count, sections, ...rest } = findingOf(state.check);
    const more = { ...rest };
    if (state.count) more.count = Number.parseInt(state.count, 10);
    else if (count !== undefined) more.count = count;
    if (state.where.length) more.sections = state.where;
    else if (sections && checks().get(state.check).extent === 'count') more.sections = sections;
    if (await putFinding(state.check, more)) act.next();
  },
  async undo() {
    const last = logic.lastOwn(state.fields, state.device);
    if (!last) return;
    const before = entriesOf(last.field).filter(entry => last.follows.includes(entry.id)).at(-1)?.value ?? null;
    if (!await put(last.field, before, last.id)) return;
    const check = checks().get(last.field.replace('finding.', ''));
    if (check) act.to(check.id);
    else draw();
  },
  async settle(id, chosen) {
    if (await put(`finding.${id}`, chosen.value)) draw();
  },
  panel(panel) {
    saveNote();
    Object.assign(state, { panel, note: panel === 'note' ? findingOf(state.check)?.note ?? '' : null });
    draw();
  },
  note(text) {
    state.note = text;
    clearTimeout(noteTimer);
    noteTimer = setTimeout(saveNote, NOTE_PAUSE);
    draw();
  },
  read(id) {
    state.read.add(id);
    remember({ read: { ...settings().read, [state.visit.id]: [...state.read] } });
    draw();
  },
  readAgain() {
    state.read.clear();
    draw();
  },
  async photograph(files) {
    for (const file of files) {
      try {
        const { blob, sha } = await shrink(file);
        const id = state.check;
        if (state.photos.some(photo => photo.sha === sha && photo.check === id && !photo.gone)) continue;
        const photo = { key: `${state.visit.id} ${sha} ${id}`, visit: state.visit.id, sha, check: id, blob, sent: false };
        await local.putPhoto(photo);
        state.photos.push(photo);
      } catch (fault) {
        state.fault = word('no_photo', { why: fault?.name === 'QuotaExceededError' ? word('device_full') : file.name });
      }
    }
    draw();
    send();
  },
  async dropPhoto(photo) {
    if (photo.field && !await put(photo.field, null)) return;
    if (photo.sent) await local.putPhoto(Object.assign(photo, { gone: true, blob: null }));
    else await local.dropPhoto(photo.key);
    state.photos = state.photos.filter(one => one !== photo);
    draw();
  },
  async speak(language) {
    await learnOwnWords(language);
    state.language = language;
    remember({ language });
    draw();
  },
  measure(system) {
    Object.assign(state, { system, typed: '' });
    remember({ system });
    draw();
  },
  dress(look) {
    state.look = look;
    remember({ look });
    draw();
  },
  openVisit: async id => openKept((await local.visits()).find(visit => visit.id === id)),
};

async function saveNote() {
  clearTimeout(noteTimer);
  const { note, check } = state;
  if (note === null || !check) return;
  const before = findingOf(check) ?? {}, text = note.trim();
  const { note: _, ...rest } = before;
  await putFinding(check, text ? { ...rest, note: text } : rest);
}

// --- sending

const sender = {
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
      channel?.postMessage(state.visit.id);
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

function merge(entries) {
  for (const entry of entries) {
    const there = (state.fields.get(entry.field) ?? []).filter(one => one.id !== entry.id);
    state.fields.set(entry.field, [...there, entry]);
  }
}

async function heal() {
  if (!state.visit) return;
  const all = [...state.fields.values()].flat();
  const back = await local.writeBack(state.visit, all, state.photos).catch(() => 0);
  if (back) {
    state.fault = word('written_back');
    draw();
  }
}

// --- opening

async function openKept(visit) {
  if (!visit) return;
  const before = settings(), place = before.places?.[visit.id];
  Object.assign(state, {
    visit, byId: null, fields: new Map(), refused: new Map(), photos: await local.photosOf(visit.id),
    read: new Set(before.read?.[visit.id] ?? []), closed: '', reached: false,
    system: before.system || visit.system || 'metric',
  });
  const kept = await local.entriesOf(visit.id);
  for (const entry of kept) if (entry.refused) state.refused.set(entry.id, entry.refused);
  merge(kept);
  state.photos = state.photos.filter(photo => !photo.gone);
  remember({ last: visit.id });
  state.visits = await local.visits();
  document.title = `${visit.title} · ${word('at_the_piano')}`;
  if (place && (place.screen !== 'check' && place.screen !== 'extent' || checks().has(place.check))) {
    Object.assign(state, place, { panel: '', count: '', where: [], note: null });
    if (state.screen === 'extent') state.screen = 'check';
    draw();
  } else go('home', { list: 'quick', check: '' });
  send();
}

// The other languages, the reasons and the tools: all that need not be there for the first check.
async function learnWords(visit) {
  const told = await ask('words', visit.token);
  visit.content.words = told.words;
  await local.putVisit(visit);
  draw();
}

async function openByToken(token) {
  const before = (await local.visits()).find(visit => visit.token === token);
  if (before) await openKept(before);
  try {
    const told = await ask(`visit?language=${state.language}`, token);
    const there = (await local.visits()).find(visit => visit.id === told.visit.id);
    const visit = {
      ...there, id: told.visit.id, token, title: told.visit.title, who: told.visit.who, demo: told.visit.demo,
      content: told.content, language: told.settings.language, system: told.settings.units, until: told.until,
      seq: Math.max(there?.seq ?? 0, told.seq),
    };
    await local.putVisit(visit);
    await local.putEntries(told.entries.map(entry => ({ ...entry, visit: visit.id, n: entry.seq })));
    await openKept(visit);
    await learnWords(visit);
  } catch (fault) {
    if (before) return; // it goes on with what is kept
    const last = (await local.visits()).find(visit => visit.id === settings().last);
    if (last) await openKept(last);
    state.closed = fault instanceof Answer ? fault.error : 'no_network';
    if (!last) state.screen = 'closed';
    draw();
  }
}

async function open() {
  const asked = new URLSearchParams(location.hash.slice(1)), token = asked.get('t'), check = asked.get('c');
  if (token) {
    history.replaceState(null, '', './'); // it stands in no address any more
    await openByToken(token);
    if (check && state.visit && checks().has(check)) act.to(check, 'all');
    return;
  }
  const kept = await local.visits();
  const last = kept.find(visit => visit.id === settings().last) ?? kept.at(-1);
  if (last) return openKept(last);
  Object.assign(state, { screen: 'closed', closed: 'missing' });
  draw();
}

async function learnOwnWords(language) {
  state.words[language] ??= await fetch(`words.${language}.json`).then(answer => answer.json());
}

export async function start(element) {
  root = element;
  const before = settings();
  if (!before.device) remember({ device: logic.newId().slice(0, 12) });
  const named = before.language ?? (navigator.language.startsWith('de') ? 'de' : 'en');
  Object.assign(state, { device: settings().device, language: named, look: before.look ?? 'auto' });
  await learnOwnWords(state.language);
  send = makeSender(sender);
  if ('BroadcastChannel' in self) {
    channel = new BroadcastChannel('walk');
    channel.onmessage = async ({ data }) => {
      if (data !== state.visit?.id) return;
      const there = await local.entriesOf(data);
      state.fields = new Map();
      merge(there);
      draw();
    };
  }
  addEventListener('hashchange', open);
  addEventListener('keydown', key);
  addEventListener('pagehide', saveNote);
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', draw);
  await open();
  local.askToKeep();
  state.version = await ownVersion();
  for (let tries = 0; tries < 40 && !state.offlineReady; tries++) {
    state.offlineReady = await readyOffline();
    if (!state.offlineReady) await new Promise(done => setTimeout(done, 250));
  }
  await Promise.all(LANGUAGES.map(learnOwnWords)).catch(() => null);
  draw();
}

// --- by keyboard: 1 to 4, digits, Enter, Backspace, Escape

function key(event) {
  if (event.target.closest('textarea, input, select, summary') || event.ctrlKey || event.metaKey || event.altKey) return;
  const stop = state.visit && unread();
  if (stop || !['check', 'extent'].includes(state.screen) || state.panel) {
    if (event.key === 'Escape' && !stop) act.home();
    return;
  }
  const check = checks().get(state.check), onButton = event.target.closest('button, a, label');
  const choice = check.answer === 'choice' && state.screen === 'check';
  if (/^\d$/.test(event.key)) {
    if (choice) {
      const grade = check.choices[Number(event.key) - 1];
      if (grade) act.choose(grade);
    } else act.type(event.key);
  } else if (!choice && [',', '.'].includes(event.key)) act.type('.');
  else if (!choice && event.key === '-' && check.low < 0) act.type('-');
  else if (event.key === 'Backspace') choice ? act.back() : act.type('back');
  else if (event.key === 'Enter' && !onButton && !choice) act.enter();
  else if (event.key === 'Escape') act.home();
  else if (event.key === 'x') act.unseen();
  else return;
  event.preventDefault();
}
