// What can be done at the piano. Each action changes `state` and draws; what is entered is on the disk first.
import { render } from './vendor/preact.mjs';
import * as local from './local.js';
import * as logic from './logic.js';
import { checks, entriesOf, findingOf, inList, isDone, merge, own, state,
  unread, waiting, word, words } from './state.js';
import { html, Page } from './view.js';

const REMEMBERED = 'walk';
const NOTE_PAUSE = 900;

let noteTimer = 0;

export const settings = () => JSON.parse(localStorage.getItem(REMEMBERED) ?? '{}');
export const remember = more => localStorage.setItem(REMEMBERED, JSON.stringify({ ...settings(), ...more }));

// --- drawing

let focused = '';
export function draw() {
  document.documentElement.lang = state.language;
  document.documentElement.dataset.look = state.look === 'auto'
    ? (matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'light') : state.look;
  const stop = state.visit?.content && !['opening', 'closed'].includes(state.screen) ? unread() : null;
  Object.assign(own.root.dataset, {
    screen: stop ? 'stop' : state.screen, check: state.check, language: state.language, reached: state.reached,
    unsent: state.visit ? waiting() : 0, offline: state.offlineReady,
    photos: state.photos.length,
  });
  render(html`<${Page} state=${state} stop=${stop} />`, own.root);
  const here = `${stop?.id ?? ''} ${state.screen} ${state.list} ${state.check} ${state.panel}`;
  if (here !== focused) {
    focused = here;
    (own.root.querySelector('[data-focus]') ?? own.root.querySelector('h1'))?.focus({ preventScroll: true });
    own.root.querySelector('main')?.scrollTo(0, 0);
  }
}

export function go(screen, more = {}) {
  saveNote();
  state.recording?.stop.abort();
  Object.assign(state, { screen, panel: '', typed: '', count: '', where: [], note: null, fault: '' }, more);
  keepPlace();
  draw();
}

// What a reload would lose: where one is, and half-typed digits.
function keepPlace() {
  const { screen, list, check, typed, section, soft } = state;
  remember({ places: { ...settings().places, [state.visit.id]: { screen, list, check, typed, section, soft } } });
}

const pinOf = (check, section) => logic.nextPin(check, findingOf(check.id)?.readings ?? [], section);

function toCheck(check) {
  go('check', { check: check.id, section: check.answer === 'readings' ? pinOf(check)?.[2] ?? (state.section || 'bass') : '', soft: false });
}

// --- entering

const SAID = { QuotaExceededError: 'device_full', NotAllowedError: 'mic_not_allowed', NotFoundError: 'mic_not_there' };
export const why = fault => SAID[fault.name] ? word(SAID[fault.name]) : fault.name;
export const notKept = fault => word('not_kept', { why: why(fault) });

async function put(field, value, undoes = '', id = logic.newId()) {
  const there = entriesOf(field);
  if (!undoes && logic.says(there, value)) return true;
  const entry = {
    id, visit: state.visit.id, at: new Date().toISOString(), n: state.n = Math.max(Date.now(), state.n + 1),
    who: state.visit.who, device: state.device, field, value, undoes, seq: 0,
    follows: logic.heads(there).map(head => head.id),
  };
  try {
    await local.putEntries([entry]);
  } catch (fault) {
    // said and left standing: nothing goes on as if it were kept
    state.fault = notKept(fault);
    draw();
    return false;
  }
  merge([entry]); // others may have come meanwhile
  state.fault = '';
  own.channel?.postMessage({ visit: state.visit.id, gone: [] });
  own.send();
  return true;
}

export const beside = finding => Object.fromEntries(
  ['note', 'count', 'sections'].filter(key => finding?.[key] !== undefined).map(key => [key, finding[key]]));

export const putFinding = (id, value, entry) => put(`finding.${id}`, value && Object.keys(value).length ? value : null, '', entry);

async function answered(check) {
  const grade = logic.gradeOf(check.reads[0], findingOf(check.id));
  if (check.extent && grade && grade !== 'none') go('extent', { count: '', where: [...findingOf(check.id).sections ?? []] });
  else act.next();
}

// Readings are taken one after the other, each beside those before it.
let taking = Promise.resolve(true);
export const inTurn = take => taking = taking.then(take);

async function takeReading(check, value, typed, soft) {
  const before = findingOf(check.id);
  const reading = { value, section: state.section === 'any' ? '' : state.section };
  const pin = soft ? null : pinOf(check, state.section), along = pin && pin === pinOf(check);
  if (soft) reading.soft = true;
  if (pin) [reading.key, reading.string] = pin;
  const taken = await putFinding(check.id, { readings: [...before?.readings ?? [], reading], ...beside(before) });
  if (!taken) Object.assign(state, { typed, soft });
  else if (along) state.section = pinOf(check)?.[2] ?? state.section;
  keepPlace();
  draw();
  return taken;
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
    const more = before?.grade === grade ? beside(before) : before?.note ? { note: before.note } : {};
    if (await putFinding(check.id, { grade, ...more })) await answered(check);
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
    if (check.answer === 'number') {
      if (await putFinding(check.id, { readings: [{ value, section: '' }], ...beside(findingOf(check.id)) })) await answered(check);
      return;
    }
    const { typed, soft } = state;
    Object.assign(state, { typed: '', soft: false }); // the next digit may come before this one is on the disk
    draw();
    return inTurn(() => takeReading(check, value, typed, soft));
  },
  async enough() {
    if (state.typed ? await act.enter() : await taking) act.next();
  },
  async dropReading(index) {
    const before = findingOf(state.check), readings = before.readings.filter((_, i) => i !== index);
    if (await putFinding(state.check, readings.length ? { ...before, readings } : beside(before))) draw();
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
  async panel(panel) {
    if (panel === 'sound') state.SoundPanel ??= (await import('./sounds.js')).Sounds;
    saveNote();
    state.recording?.stop.abort();
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
        const { blob, sha } = await (await import('./photo.js')).shrink(file);
        const id = state.check;
        if (state.photos.some(photo => photo.sha === sha && photo.check === id && !photo.gone)) continue;
        const photo = { key: `${state.visit.id} ${sha} ${id}`, visit: state.visit.id, sha, check: id, blob, sent: false };
        await local.putPhoto(photo);
        state.photos.push(photo);
      } catch (fault) {
        state.fault = word('no_photo', { why: fault.name === 'QuotaExceededError' ? why(fault) : file.name });
      }
    }
    draw();
    own.send();
  },
  async dropPhoto(photo) {
    if (photo.field && !await put(photo.field, null)) return;
    if (photo.sent) await local.putPhoto(Object.assign(photo, { gone: true, blob: null }));
    else await local.dropPhoto(photo.key);
    state.photos = state.photos.filter(one => one !== photo);
    draw();
  },
  speak(language) {
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
  openVisit: async id => own.open((await local.visits()).find(visit => visit.id === id)),
};

export async function saveNote() {
  clearTimeout(noteTimer);
  const { note, check } = state;
  if (note === null || !check) return;
  const before = findingOf(check) ?? {}, text = note.trim();
  const { note: _, ...rest } = before;
  await putFinding(check, text ? { ...rest, note: text } : rest);
}
