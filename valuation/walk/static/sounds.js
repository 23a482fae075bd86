// Recording a note for a check that sound gives the readings to: the panel, and what becomes of the answers.
import * as local from './local.js';
import * as logic from './logic.js';
import { canRecord, record, SECONDS } from './recorder.js';
import { checks, entriesOf, findingOf, own, state, word } from './state.js';
import { checkWords, html } from './view.js';
import { act, beside, draw, inTurn, notKept, putFinding, why } from './walk.js';

const soundsOf = id => state.sounds.filter(sound => sound.check === id);

// The key to record next: as chosen, or the first that is not there.
function toRecord(check) {
  const there = [...soundsOf(check.id).filter(sound => !sound.refused).map(sound => sound.note),
    ...(findingOf(check.id)?.readings ?? []).map(reading => reading.key)];
  return check.sounds.find(([key]) => key === state.noteKey) ?? check.sounds.find(([key]) => !there.includes(key)) ?? check.sounds[0];
}

function toNote(step) {
  const keys = checks().get(state.check).sounds.map(([key]) => key);
  state.noteKey = keys[(keys.indexOf(toRecord(checks().get(state.check))[0]) + step + keys.length) % keys.length];
  draw();
}

async function recordNote() {
  const visit = state.visit.id, check = state.check, [note] = toRecord(checks().get(check)), stop = new AbortController();
  Object.assign(state, { recording: { second: 0, stop }, fault: '' });
  draw();
  try {
    const { blob, filtered } = await record(second => {
      if (state.recording.second === Math.floor(second)) return;
      state.recording.second = Math.floor(second);
      draw();
    }, stop.signal);
    const id = logic.newId(), sound = { key: `${visit} ${id}`, id, visit, sound: true, check, note, blob, filtered };
    await local.putPhoto(sound);
    const failed = state.sounds.filter(one => one.check === check && one.note === note && one.refused);
    for (const one of failed) await local.dropPhoto(one.key);
    Object.assign(state, { sounds: [...state.sounds.filter(one => !failed.includes(one)), sound], noteKey: 0 });
  } catch (fault) {
    if (fault.name !== 'AbortError') state.fault = word('no_sound', { why: why(fault) });
  }
  state.recording = null;
  draw();
  own.send();
}

async function drop(sound) {
  await local.dropPhoto(sound.key);
  state.sounds = state.sounds.filter(one => one !== sound);
  draw();
}

// What the server heard in a recording: a reading beside the others, under the recording's own id, so never twice.
export const heard = (sound, told) => inTurn(() => takeSound(sound, told));

async function takeSound(sound, told) {
  const before = findingOf(sound.check), [, , section] = checks().get(sound.check).sounds.find(([key]) => key === sound.note);
  try {
    if (told.refused) await local.putPhoto(Object.assign(sound, { refused: told.refused, blob: null }));
    else {
      const reading = { value: told.value, section, key: sound.note };
      const there = entriesOf(`finding.${sound.check}`).some(entry => entry.id === sound.id);
      if (!there && !await putFinding(sound.check, { readings: [...before?.readings ?? [], reading], ...beside(before) }, sound.id)) return false;
      await local.dropPhoto(sound.key);
      Object.assign(sound, told, { blob: null, elsewhere: true });
    }
  } catch (fault) {
    state.fault = notKept(fault);
  }
  draw();
  return true;
}

export function Sounds({ check }) {
  if (!canRecord()) return html`<p>${word('mic_needs_https')}</p><button class="wide main" onClick=${() => act.panel('')}>${word('done')}</button>`;
  const [, name] = toRecord(check), on = state.recording;
  const told = sound => sound.refused ?? (sound.blob ? word('waiting') : `${logic.shown(sound.value, check.factors[state.system], state.language)} ${checkWords(check.id).units[state.system]}`);
  return html`<p class="how">${word('how_to_record')}</p>
    ${on ? html`<p class="typed" role="status"><b>${on.second < 1 ? word('quiet') : on.second < 3 ? word('strike', { name }) : word('hold', { n: SECONDS - on.second })}</b></p>`
    : html`<div class="row"><button class="small" onClick=${() => toNote(-1)} aria-label=${word('note_before')}>‹</button>
      <p class="typed" aria-live="polite"><b>${name}</b></p><button class="small" onClick=${() => toNote(1)} aria-label=${word('note_after')}>›</button></div>`}
    <ul class="list sounds">${soundsOf(check.id).map(sound => html`<li key=${sound.id}><p><b>${check.sounds.find(([key]) => key === sound.note)[1]}</b>: ${told(sound)}
      ${sound.filtered ? html` ${word('filtered')}` : ''}</p>${sound.says?.map(text => html`<p>${text}</p>`)}
      ${sound.refused || sound.blob ? html`<button onClick=${() => drop(sound)}>${word('take_away')}</button>` : ''}</li>`)}</ul>
    <div class="low">${on ? html`<button class="wide" onClick=${() => on.stop.abort()}>${word('break_off')}</button>`
    : html`<button class="wide main" onClick=${recordNote}>${word('record_note', { name, n: SECONDS })}</button><button class="wide" onClick=${() => act.panel('')}>${word('done')}</button>`}</div>`;
}
