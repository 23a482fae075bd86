// The screens, drawn from the state alone.
import { h } from './vendor/preact.mjs';
import htm from './vendor/htm.mjs';
import { canStayOpen } from './fresh.js';
import * as logic from './logic.js';
import { cautions, checks, clashOf, findingOf, inList, isAsked, isDone, openGates, photosOf, state, waiting, word, words } from './state.js';
import { act } from './walk.js';

export const html = htm.bind(h);

const SCREENS = { home: Home, list: List, check: Check, extent: Extent, review: Review, settings: Settings };
const minutes = found => Math.max(1, Math.round(found.reduce((sum, check) => sum + check.minutes, 0)));
const done = found => found.filter(isDone).length;
export const checkWords = id => words().checks[id];

export function Page({ stop }) {
  if (state.screen === 'opening') return html`<main><p class="told" role="status">…</p></main>`;
  if (state.screen === 'closed') return html`<${Closed} />`;
  if (stop) return html`<${Stop} caution=${stop} />`;
  const Screen = SCREENS[state.screen];
  return html`<${Head} /><main class=${`on-${state.screen}`}>${state.fault ? html`<p class="fault" role="alert">${state.fault}</p>` : ''}
    <${Screen} /></main><${Bar} />`;
}

// --- around

function Head() {
  const told = cautions();
  return html`<header>
    <button class="plain title" onClick=${act.home}>${state.visit.title}${state.visit.demo ? html` <small>${word('invented')}</small>` : ''}</button>
    ${told.length ? html`<button class="plain stop-again" onClick=${act.readAgain}>
      ${told[0].rank === 'stop' ? word('stop') : word('careful')} ${told.length}</button>` : ''}
    <button class="plain" onClick=${act.settings} aria-label=${word('settings')}>☰</button></header>`;
}

function kept() {
  const count = waiting();
  if (['revoked', 'expired', 'unknown', 'missing'].includes(state.closed)) return word('link_over', { count });
  if (count) return state.reached ? word('sending', { count }) : word('on_this_device', { count });
  return state.reached ? word('all_sent') : word('on_device_all');
}

function Bar() {
  const here = inList(), place = here.findIndex(check => check.id === state.check);
  const onCheck = ['check', 'extent'].includes(state.screen);
  const undo = logic.lastOwn(state.fields, state.device);
  return html`<nav class="bar" aria-label=${word('bar')}>
    <button onClick=${act.back} disabled=${state.screen === 'home'}>‹<span>${word('back')}</span></button>
    <p role="status"><b>${onCheck ? word('n_of_n', { n: place + 1, all: here.length }) : word('made', { n: done(state.visit.content.checks), all: state.visit.content.checks.filter(isAsked).length })}</b>
      <span>${kept()}</span></p>
    <button onClick=${act.undo} disabled=${!undo}>↶<span>${word('undo')}</span></button>
    <button onClick=${onCheck ? act.next : () => act.open(nextList())} class="on">›<span>${word('next_open')}</span></button></nav>`;
}

const nextList = () => ['quick', 'needed', 'all'].find(list => inList(list).some(check => !isDone(check))) ?? 'all';

function Stop({ caution }) {
  const isStop = caution.rank === 'stop';
  return html`<main class=${isStop ? "stop-screen" : "stop-screen careful"}><div role="alertdialog" aria-labelledby="stop-word" aria-describedby="stop-text">
    <h1 id="stop-word" tabindex="-1">${isStop ? word('stop') : word('careful')}</h1>
    <p id="stop-text">${words().cautions[caution.id]}</p>
    <p class="from">${checkWords(caution.check).name}</p>
    <button class="wide" onClick=${() => act.read(caution.id)}>${word('have_read')}</button></div></main>`;
}

function Closed() {
  return html`<main class="closed"><h1 tabindex="-1">${word('at_the_piano')}</h1><p>${word(`closed_${state.closed}`)}</p>
    <p>${word('closed_how')}</p></main>`;
}

// --- the way about

function fillDrawing(box) {
  const host = box?.base ?? box;
  if (!host) return;
  const text = words().drawing;
  if (host.drawn !== text) {
    host.drawn = text;
    const svg = new DOMParser().parseFromString(text, 'image/svg+xml').documentElement;
    host.replaceChildren(document.importNode(svg, true));
  }
  for (const part of host.querySelectorAll('[data-part]')) {
    const own = inList(`part:${part.dataset.part}`), made = done(own);
    part.dataset.progress = !made ? 'none' : made < own.length ? 'some' : 'all';
    const plate = host.querySelector(`.words[data-of="${part.dataset.part}"]`);
    for (const line of plate?.querySelectorAll('text') ?? []) {
      line.textContent = line.textContent.replace(/\d+\/\d+|✓ \d+/, made && made === own.length ? `✓ ${made}` : `${made}/${own.length}`);
    }
  }
}

function tapped(event) {
  const part = event.target.closest('[data-part]')?.dataset.part;
  if (part && inList(`part:${part}`).length) act.open(`part:${part}`);
}

function Home() {
  const list = nextList(), here = inList(list), left = here.filter(check => !isDone(check));
  const history = inList(`part:${state.visit.content.history}`);
  const label = list === 'quick' ? word('go_quick', { n: left.length, minutes: minutes(left) })
    : list === 'needed' ? word('go_needed', { n: left.length, minutes: minutes(left) })
      : left.length ? word('go_all', { n: left.length }) : '';
  const enough = !openGates().length;
  return html`<h1 tabindex="-1" class="unseen">${word('at_the_piano')}: ${state.visit.title}</h1>
    ${canStayOpen() ? '' : html`<p class="told">${word(state.loaded ? 'offline_open_only' : 'offline_soon')}</p>`}
    <div class="drawing" ref=${fillDrawing} onClick=${tapped}></div>
    <div class="under">
      ${label ? html`<button class=${`wide ${enough && list === 'all' ? '' : 'main'}`} onClick=${() => act.open(list)}>${label}</button>` : ''}
      <div class="row">
        ${history.length ? html`<button onClick=${() => act.open(`part:${state.visit.content.history}`)}>${words().parts[state.visit.content.history]} ${done(history)}/${history.length}</button>` : ''}
        <button onClick=${act.lists}>${word('by_opening')}</button>
        <button onClick=${act.review} class=${enough ? 'main' : ''}>${word('what_i_saw')}</button></div></div>`;
}

function Counted({ name, list }) {
  const here = inList(list), left = here.filter(check => !isDone(check));
  if (!here.length) return '';
  return html`<li><button class="wide line" onClick=${() => act.list(list)}><span>${name}</span>
    <span class="of">${left.length ? word('left', { n: left.length, all: here.length, minutes: minutes(left) }) : word('all_made', { n: here.length })}</span></button></li>`;
}

function List() {
  if (!state.list) {
    const content = state.visit.content;
    const parts = [...new Set(content.checks.map(check => check.part))];
    return html`<h1 tabindex="-1">${word('by_opening')}</h1><ul class="list">
      <${Counted} name=${word('quick_look')} list="quick" />
      ${content.accesses.map(access => html`<${Counted} key=${access.id} name=${words().accesses[access.id]} list=${`access:${access.id}`} />`)}</ul>
      <details><summary>${word('by_part')}</summary><ul class="list">
      ${parts.map(part => html`<${Counted} key=${part} name=${words().parts[part]} list=${`part:${part}`} />`)}</ul></details>`;
  }
  const [kind, id] = state.list.split(':');
  const name = kind === 'access' ? words().accesses[id] : kind === 'part' ? words().parts[id] : word('quick_look');
  return html`<h1 tabindex="-1">${name}</h1>
    <button class="wide main" onClick=${() => act.open(state.list)}>${word('begin_here')}</button>
    <ul class="list">${inList().map(check => html`<${Line} key=${check.id} check=${check} />`)}</ul>`;
}

function Line({ check, list }) {
  return html`<li><button class="wide line" onClick=${() => act.to(check.id, list ?? state.list)}><span>${checkWords(check.id).name}</span>
    <span class="of">${said(check)}</span></button></li>`;
}

// What was found, in the words of the check.
export function said(check) {
  const finding = findingOf(check.id), told = checkWords(check.id);
  if (logic.isUnseen(finding)) return withBeside(word('cannot_see'), finding);
  if (!logic.isMade(finding)) return finding?.note ? withBeside(word('not_looked'), finding) : word('not_looked');
  if (finding.grade) return withBeside(told.choices?.[finding.grade]?.[0] ?? finding.grade, finding);
  const values = finding.readings.slice(0, 6).map(one => logic.shown(one.value, check.factors[state.system], state.language));
  const more = finding.readings.length > 6 ? word('readings_in_all', { n: finding.readings.length }) : '';
  return withBeside(`${values.join('; ')}\u00a0${told.units[state.system]} ${more}`.trim(), finding);
}

function withBeside(text, finding) {
  const more = [];
  if (finding.count) more.push(word('pieces', { n: finding.count }));
  if (finding.sections?.length) more.push(finding.sections.map(word).join(', '));
  if (finding.note) more.push(`“${finding.note}”`);
  return [text, ...more].join(' · ');
}

// --- one check

function Check() {
  const check = checks().get(state.check), told = checkWords(check.id), finding = findingOf(check.id);
  const differ = clashOf(check.id);
  return html`<p class="eyebrow">${words().parts[check.part]} · ${words().accesses[check.access]}</p>
    <h1 tabindex="-1">${told.name}</h1>
    ${state.panel === 'note' ? html`<${Note} />` : state.panel === 'photos' ? html`<${Photos} check=${check} />` : state.panel === 'sound' ? html`<${state.SoundPanel} check=${check} />` : html`
    <p class="how">${told.how}</p>
    ${told.why ? html`<details class="why"><summary>${told.tool ? `${word('why_and_with')} ${told.tool}` : word('why')}</summary><p>${told.why}</p>${told.note ? html`<p>${told.note}</p>` : ''}</details>` : ''}
    ${differ.length ? html`<${Clash} check=${check} differ=${differ} />` : ''}
    <div class=${check.answer === 'readings' ? 'low dense' : 'low'}>
    ${check.answer === 'choice' ? html`<${Choices} check=${check} finding=${finding} />` : html`<${Figures} check=${check} finding=${finding} />`}
    <div class="foot"><div class="row apart"><button onClick=${act.unseen} aria-pressed=${logic.isUnseen(finding)}>${word('cannot_see')}</button>
      ${isDone(check) ? html`<button onClick=${act.clear}>${word('not_looked')}</button>` : html`<button onClick=${act.skip}>${word('skip')}</button>`}</div>
    <${Beside} check=${check} finding=${finding} /></div></div>`}`;
}

function Choices({ check, finding }) {
  return html`<div class="answers" role="group" aria-label=${checkWords(check.id).name}>${check.choices.map((grade, i) => {
    const [name, looks] = checkWords(check.id).choices[grade];
    return html`<button key=${grade} class="answer" aria-pressed=${finding?.grade === grade} onClick=${() => act.choose(grade)}>
      <b><span class="key">${i + 1}</span> ${name}</b><span>${looks}</span></button>`;
  })}</div>`;
}

function Figures({ check, finding }) {
  const told = checkWords(check.id), unit = told.units[state.system], readings = finding?.readings ?? [];
  const many = check.answer === 'readings';
  const pin = state.soft ? null : logic.nextPin(check, readings, state.section);
  const before = !many && readings.length ? logic.shown(readings[0].value, check.factors[state.system], state.language) : '';
  const typed = state.language === 'de' ? state.typed.replace('.', ',') : state.typed;
  return html`${many ? html`<div class="row chips" role="group" aria-label=${word('which_section')}>
      ${['bass', 'tenor', 'treble', 'any'].map(one => html`<button key=${one} aria-pressed=${state.section === one} onClick=${() => act.section(one)}>${word(one)}</button>`)}</div>` : ''}
    <p class="typed" aria-live="polite"><b>${typed || before || '–'}</b> ${unit}
      ${many ? html`<span class="nth">${word('reading_n', { n: readings.length + 1 })}${pin ? `: ${word('pin_at', { key: pin[0], name: pin[3], string: pin[1] })}` : ''}</span>` : ''}</p>
    <${Cuts} check=${check} />
    ${many && readings.length ? html`<ul class="readings" aria-label=${word('readings')}>${readings.map((one, i) => html`<li key=${i}><button onClick=${() => act.dropReading(i)}
      aria-label=${word('take_out', { value: logic.shown(one.value, check.factors[state.system], state.language) })}>${one.soft ? '~' : ''}${logic.shown(one.value, check.factors[state.system], state.language)}<small>${one.string ? `${one.key}.${one.string}` : one.key ? check.sounds?.find(([key]) => key === one.key)?.[1] ?? one.key : one.section ? word(one.section) : ''}</small></button></li>`)}</ul>` : ''}
    <${Keypad} check=${check} decimals=${!check.whole} minus=${check.low < 0} many=${many} />`;
}

function Keypad({ check, decimals, minus, many }) {
  const onExtent = state.screen === 'extent';
  const keys = ['1', '2', '3', '4', '5', '6', '7', '8', '9', decimals && !onExtent ? '.' : minus && !onExtent ? '-' : '', '0', 'back'];
  const shownKey = { '.': state.language === 'de' ? ',' : '.', back: '⌫', '-': '−' };
  return html`<div class="keypad">${keys.map(sign => sign ? html`<button key=${sign} onClick=${() => act.type(sign)}
      aria-label=${sign === 'back' ? word('delete') : null}>${shownKey[sign] ?? sign}</button>` : html`<span></span>`)}</div>
    <div class="row">${decimals && minus && !onExtent ? html`<button onClick=${() => act.type('-')} class="small">−</button>` : ''}
    ${many && check.pieces ? html`<button aria-pressed=${state.soft} onClick=${act.soft}>${word('felt_soft')}</button>` : ''}
    <button class=${state.typed || !many ? 'main take' : 'take'} onClick=${act.enter} disabled=${onExtent ? !state.count : !state.typed}>${many ? word('next_reading') : word('take')}</button>
    ${many ? html`<button class=${isDone(check) && !state.typed ? 'main enough' : 'enough'} onClick=${act.enough} disabled=${!state.typed && !isDone(check)}>${word('enough')}</button>` : ''}</div>`;
}

// The cut points as a scale that lights up while one types.
function Cuts({ check }) {
  const reading = check.reads[0], factor = check.factors[state.system];
  const number = logic.isNumber(state.typed) ? Number.parseFloat(state.typed) * factor : null;
  const lit = number === null ? '' : logic.gradeOfNumber(reading, number);
  const from = [null, ...reading.cuts].map(cut => cut === null ? '' : logic.shown(cut, factor, state.language));
  return html`<ol class="cuts" aria-label=${word('scale')}>${logic.SEVERITIES.map((grade, i) => i && reading.cuts[i - 1] === null ? '' : html`<li key=${grade} class=${`s${i} ${lit === grade ? 'lit' : ''}`}>
    ${word(grade)}<small>${i ? `${reading.better === 'high' ? '<' : '≥'} ${from[i]}` : ''}</small></li>`)}</ol>`;
}

function Beside({ check, finding }) {
  const photos = photosOf(check.id);
  return html`<div class="row beside"><label class="button">${word('photo')}<input type="file" accept="image/*" capture="environment"
      onChange=${event => take(event)} /></label>
    ${check.sounds ? html`<button onClick=${() => act.panel('sound')}>${word('record')}</button>` : html`
    <label class="button">${word('from_gallery')}<input type="file" accept="image/*" multiple onChange=${event => take(event)} /></label>`}
    ${photos.length ? html`<button onClick=${() => act.panel('photos')}>${word('photos_n', { n: photos.length })}</button>` : ''}
    <button onClick=${() => act.panel('note')}>${finding?.note ? word('note_there') : word('note')}</button></div>`;
}

function take(event) {
  const files = [...event.target.files];
  event.target.value = '';
  return act.photograph(files);
}

function Note() {
  return html`<label class="notes" for="note">${word('note_on')}</label>
    <textarea id="note" data-focus value=${state.note ?? ''} onInput=${event => act.note(event.target.value)}></textarea>
    <button class="wide main" onClick=${() => act.panel('')}>${word('done')}</button>`;
}

function Photos({ check }) {
  return html`<ul class="photos">${photosOf(check.id).map((photo, i) => html`<li key=${photo.key}>
      ${photo.blob ? html`<img src=${address(photo)} alt=${word('photo_n_of', { n: i + 1, name: checkWords(check.id).name })} />` : ''}
      <p>${photo.refused ?? (photo.sent ? word('sent') : word('waiting'))}</p>
      <button onClick=${() => act.dropPhoto(photo)}>${word('take_away')}</button></li>`)}</ul>
    <button class="wide main" onClick=${() => act.panel('')}>${word('done')}</button>`;
}

const addresses = new Map();
function address(photo) {
  if (!addresses.has(photo.key)) addresses.set(photo.key, URL.createObjectURL(photo.blob));
  return addresses.get(photo.key);
}

function Extent() {
  const check = checks().get(state.check), byCount = check.extent === 'count';
  return html`<p class="eyebrow">${checkWords(check.id).name}: ${said(check)}</p>
    <h1 tabindex="-1">${byCount ? word('how_many') : word('which_section')}</h1>
    <div class="low">
    ${byCount ? html`<p class="typed" aria-live="polite"><b>${state.count || findingOf(check.id).count || '–'}</b></p><${Keypad} check=${check} />`
    : html`<div class="answers">${logic.SECTIONS.map(one => html`<button key=${one} class="answer" aria-pressed=${state.where.includes(one)} onClick=${() => act.where(one)}><b>${word(one)}</b></button>`)}</div>
      <button class="wide main" onClick=${act.extent} disabled=${!state.where.length}>${word('go_on')}</button>`}
    <div class="row apart"><button onClick=${act.next}>${word('not_counted')}</button></div>
    <${Beside} check=${check} finding=${findingOf(check.id)} /></div>`;
}

function Clash({ check, differ }) {
  return html`<section class="clash" aria-label=${word('clash')}><p><b>${word('clash')}</b></p>${differ.map(entry => html`<button key=${entry.id} class="wide line" onClick=${() => act.settle(check.id, entry)}>
    <span>${entry.who || entry.device}</span><span class="of">${saidOf(check, entry.value)}</span></button>`)}</section>`;
}

function saidOf(check, value) {
  if (value === null) return word('not_looked');
  if (value.cannot_see) return word('cannot_see');
  if (value.grade) return withBeside(checkWords(check.id).choices?.[value.grade]?.[0] ?? value.grade, value);
  return withBeside((value.readings ?? []).map(one => logic.shown(one.value, check.factors[state.system], state.language)).join('; '), value);
}

// --- the end

function Review() {
  const asked = state.visit.content.checks.filter(isAsked), gates = openGates();
  const made = asked.filter(check => logic.isMade(findingOf(check.id)));
  const hidden = asked.filter(check => logic.isUnseen(findingOf(check.id)));
  const not = asked.filter(check => !isDone(check));
  const differ = asked.filter(check => clashOf(check.id).length);
  const refused = [...state.refused];
  const count = waiting();
  const photos = state.photos.length;
  return html`<h1 tabindex="-1">${word('review')}</h1>
    <p>${word('review_sums', { made: made.length, hidden: hidden.length, not: not.length, photos })}</p>
    ${gates.length ? html`<section class="needed"><h2>${word('still_needed')}</h2><ul class="list">${gates.map(gate => html`<li key=${gate.part}>
      <button class="wide line" onClick=${() => act.to(gate.checks.find(id => isAsked(checks().get(id)) && !isDone(checks().get(id))) ?? gate.checks[0], 'needed')}>
      <span>${words().parts[gate.part]}</span><span class="of">${gate.checks.map(id => checkWords(id).name).join(' / ')}</span></button></li>`)}</ul></section>`
    : html`<p class="ready"><b>${word('enough_for_verdict')}</b></p>`}
    ${differ.length ? html`<h2>${word('clash')}</h2><ul class="list">${differ.map(check => html`<${Line} key=${check.id} check=${check} list="all" />`)}</ul>` : ''}
    ${refused.length ? html`<h2>${word('refused')}</h2><ul>${refused.map(([id, why]) => html`<li key=${id}>${why}</li>`)}</ul>` : ''}
    ${count ? html`<p class="fault"><b>${word('keep_open', { count })}</b></p>`
    : html`<a class=${`button wide ${gates.length ? '' : 'main'}`} href=${`../verdict?visit=${state.visit.id}`} target="_top">${word('to_verdict')}</a>`}
    <h2>${word('what_i_saw')} (${made.length})</h2><ul class="list">${made.map(check => html`<${Line} key=${check.id} check=${check} list="all" />`)}</ul>
    <h2>${word('cannot_see')} (${hidden.length})</h2><ul class="list">${hidden.map(check => html`<${Line} key=${check.id} check=${check} list="all" />`)}</ul>
    <details><summary>${word('not_looked')} (${not.length})</summary><ul class="list">${not.map(check => html`<${Line} key=${check.id} check=${check} list="all" />`)}</ul></details>`;
}

function Chosen({ name, options, now, pick }) {
  return html`<h2>${name}</h2><div class="row chips" role="group" aria-label=${name}>${options.map(([value, text]) => html`<button key=${value} aria-pressed=${now === value} onClick=${() => pick(value)}>${text}</button>`)}</div>`;
}

function Settings() {
  const others = state.visits.filter(visit => visit.id !== state.visit.id);
  return html`<h1 tabindex="-1">${word('settings')}</h1>
    <${Chosen} name=${word('language')} options=${Object.keys(state.words).map(one => [one, state.words[one].own_name])} now=${state.language} pick=${act.speak} />
    <${Chosen} name=${word('units')} options=${[['metric', word('metric')], ['imperial', word('imperial')]]} now=${state.system} pick=${act.measure} />
    <${Chosen} name=${word('look')} options=${[['auto', word('auto')], ['light', word('light')], ['dark', word('dark')]]} now=${state.look} pick=${act.dress} />
    <h2>${word('without_network')}</h2><p>${word(state.offlineReady ? 'offline_ready' : canStayOpen() || !state.loaded ? 'offline_soon' : 'offline_open_only')}</p>
    ${state.visit.who ? html`<p>${word('entering_as', { name: state.visit.who })}</p>` : ''}
    ${others.length ? html`<h2>${word('other_visits')}</h2><ul class="list">${others.map(visit => html`<li key=${visit.id}><button class="wide line" onClick=${() => act.openVisit(visit.id)}><span>${visit.title}</span>
      <span class="of">${state.elsewhere.includes(visit.id) ? word('waiting') : ''}</span></button></li>`)}</ul>` : ''}`;
}
