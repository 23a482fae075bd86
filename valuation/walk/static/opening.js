// Opening a visit, by its link or as it is kept; starting the page; the keyboard.
import { ownVersion, readyOffline } from './fresh.js';
import * as local from './local.js';
import { Answer, ask, makeSender } from './send.js';
import { heal, lastSeq, queues } from './sending.js';
import { checks, merge, own, state, unread, word } from './state.js';
import { act, draw, go, remember, saveNote, settings } from './walk.js';
import * as logic from './logic.js';

const LANGUAGES = ['en', 'de'];

async function openKept(visit) {
  if (!visit) return;
  const before = settings(), place = before.places?.[visit.id];
  Object.assign(state, {
    visit, byId: null, fields: new Map(), refused: new Map(), photos: await local.photosOf(visit.id),
    sounds: await local.soundsOf(visit.id), noteKey: 0,
    read: new Set(before.read?.[visit.id] ?? []), closed: '', reached: false,
    system: before.system || visit.system || 'metric',
  });
  const kept = await local.entriesOf(visit.id);
  for (const entry of kept) if (entry.refused) state.refused.set(entry.id, entry.refused);
  merge(kept);
  state.n = Math.max(0, ...kept.map(entry => entry.n));
  visit.seq = lastSeq(kept);
  state.photos = state.photos.filter(photo => !photo.gone);
  remember({ last: visit.id });
  state.visits = await local.visits();
  document.title = `${visit.title} · ${word('at_the_piano')}`;
  if (place && (place.screen !== 'check' && place.screen !== 'extent' || checks().has(place.check))) {
    Object.assign(state, place, { panel: '', count: '', where: [], note: null });
    if (state.screen === 'extent') state.screen = 'check';
    draw();
  } else go('home', { list: 'quick', check: '' });
  own.send(true);
}

// The other languages, the reasons and the tools: all that need not be there for the first check.
async function learnWords(visit) {
  const [[there, own]] = Object.entries(visit.content.words), told = await ask(`words?there=${there}`, visit.token);
  for (const [id, more] of Object.entries(told.words[there].checks)) Object.assign(own.checks[id], more);
  visit.content.words = { ...told.words, [there]: own };
  await local.putVisit(visit);
  draw();
}

async function openByToken(token) {
  const before = (await local.visits()).find(visit => visit.token === token);
  if (before) await openKept(before);
  try {
    let told = await ask(`visit?language=${state.language}`, token);
    const shops = told.settings.language;
    if (shops && !settings().language) { // nobody has chosen one on this device
      await learnOwnWords(shops);
      state.language = shops;
      remember({ language: shops });
      told = await ask(`visit?language=${shops}`, token);
    }
    const there = (await local.visits()).find(visit => visit.id === told.visit.id);
    const visit = {
      ...there, id: told.visit.id, token, title: told.visit.title, who: told.visit.who, demo: told.visit.demo,
      content: told.content, language: told.settings.language, system: told.settings.units, until: told.until,
    };
    await local.putVisit(visit);
    await local.putEntries(told.entries.map(entry => ({ ...entry, visit: visit.id, n: entry.seq })));
    await openKept(visit);
    await learnWords(visit);
  } catch (fault) {
    if (before) return; // it goes on with what is kept
    const last = (await local.visits()).find(visit => visit.id === settings().last);
    if (last) await openKept(last);
    state.closed = fault instanceof Answer ? fault.error : fault.name === 'QuotaExceededError' ? 'full' : 'no_network';
    if (!last) state.screen = 'closed';
    draw();
  }
}

async function open() {
  const asked = new URLSearchParams(location.hash.slice(1)), token = asked.get('t'), check = asked.get('c');
  if (location.hash) history.replaceState(null, '', './'); // no token stands in an address any more
  if (token) await openByToken(token);
  else if (!state.visit) await openLast();
  if (state.visit && checks().has(check)) act.to(check, 'all');
}

async function openLast() {
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
  own.root = element;
  const before = settings();
  if (!before.device) remember({ device: logic.newId().slice(0, 12) });
  const named = before.language ?? (navigator.language.startsWith('de') ? 'de' : 'en');
  Object.assign(state, { device: settings().device, language: named, look: before.look ?? 'auto' });
  await learnOwnWords(state.language);
  own.send = makeSender(queues);
  local.told.lost = () => state.visit && heal();
  own.open = openKept;
  if ('BroadcastChannel' in self) {
    own.channel = new BroadcastChannel('walk');
    own.channel.onmessage = async ({ data }) => {
      if (data.visit !== state.visit?.id) return;
      merge(await local.entriesOf(data.visit), data.gone); // beside what this page alone may still hold
      draw();
    };
  }
  addEventListener('hashchange', open);
  addEventListener('keydown', key);
  addEventListener('pagehide', saveNote);
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', draw);
  await open();
  local.askToKeep();
  Promise.all(['./photo.js', './sounds.js'].map(name => import(name))).then(() => { // there when needed, with a network or without
    state.loaded = true;
    draw();
  }, () => null);
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
