// What follows from entries: what stands in a field, how a finding reads, which checks are asked, what has to be told.
// The server reckons the verdict; here only what must be known at the piano without it.
export const SEVERITIES = ['none', 'slight', 'marked', 'severe'];
export const SECTIONS = ['bass', 'tenor', 'treble'];

const later = (a, b) => (a.at === b.at ? (a.id < b.id ? -1 : 1) : Date.parse(a.at) - Date.parse(b.at));
const same = (a, b) => canonical(a) === canonical(b);
const canonical = value => JSON.stringify(value, (_, held) =>
  held && typeof held === 'object' && !Array.isArray(held) ? Object.fromEntries(Object.entries(held).sort()) : held);

export const newId = () =>
  [...crypto.getRandomValues(new Uint8Array(16))].map(byte => byte.toString(16).padStart(2, '0')).join('');

// The entries of one field that no other follows, the latest last.
export function heads(entries) {
  const followed = new Set(entries.flatMap(entry => entry.follows));
  return entries.filter(entry => !followed.has(entry.id)).sort(later);
}

export const present = entries => heads(entries).at(-1) ?? null;

export function clash(entries) {
  const ends = heads(entries);
  return ends.some(end => !same(end.value, ends[0].value)) ? ends : [];
}

export const says = (entries, value) => !clash(entries).length && same(present(entries)?.value ?? null, value);

// What this device entered last and still counts: it can be taken back.
export function lastOwn(fields, device) {
  const undone = new Set();
  for (const entries of fields.values()) for (const entry of entries) if (entry.undoes) undone.add(entry.undoes);
  let found = null;
  for (const entries of fields.values()) {
    const head = present(entries);
    if (head && head.device === device && !head.undoes && !undone.has(head.id) && (!found || later(found, head) < 0)) {
      found = head;
    }
  }
  return found;
}

export const isMade = finding => Boolean(finding && (finding.grade || finding.readings?.length));
export const isUnseen = finding => finding?.cannot_see === true;

const median = values => {
  const sorted = [...values].sort((a, b) => a - b), middle = sorted.length >> 1;
  return sorted.length % 2 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
};

function summarise(reading, readings) {
  const values = readings.map(one => one.value);
  if (!values.length) return null;
  switch (reading.summary) {
    case 'median': case 'pieces': return median(values);
    case 'least': return Math.min(...values);
    case 'greatest': return Math.max(...values);
    case 'spread': return values.length > 1 ? Math.max(...values) - Math.min(...values) : null;
    case 'worst_section': {
      const medians = SECTIONS.map(section => readings.filter(one => one.section === section).map(one => one.value))
        .filter(own => own.length >= 3).map(median);
      if (medians.length < 2) return null;
      return reading.better === 'high' ? Math.min(...medians) : Math.max(...medians);
    }
    case '': return values.reduce((sum, value) => sum + value, 0) / values.length;
    default: return null; // shares of all need the server
  }
}

export function gradeOfNumber(reading, number) {
  const sign = reading.better === 'high' ? -1 : 1;
  let grade = 0;
  reading.cuts.forEach((cut, i) => {
    if (cut !== null && (sign > 0 ? number >= cut : number < cut)) grade = i + 1;
  });
  return SEVERITIES[grade];
}

export function gradeOf(reading, finding) {
  if (!isMade(finding)) return '';
  if (finding.grade) return finding.grade;
  const number = summarise(reading, finding.readings.filter(one => !one.soft));
  return number === null ? '' : gradeOfNumber(reading, number);
}

const rank = grade => SEVERITIES.indexOf(grade);

export function isCalledFor(check, findingOf, checks) {
  if (!check.after || findingOf(check.id)) return true;
  const before = checks.get(check.after);
  return Boolean(before) && rank(gradeOf(before.reads[0], findingOf(before.id)) || 'none') >= rank(check.from)
    && isMade(findingOf(before.id));
}

// The cautions that findings call up; of one fault the gravest.
export function cautionsOf(checks, findingOf) {
  const found = new Map();
  for (const check of checks) {
    for (const reading of check.reads) {
      const grade = gradeOf(reading, findingOf(check.id));
      const told = grade ? (reading.cautions ?? []).filter(caution => rank(caution.since) <= rank(grade)) : [];
      const gravest = told.sort((a, b) => rank(a.since) - rank(b.since)).at(-1);
      if (gravest) found.set(gravest.id, { ...gravest, check: check.id });
    }
  }
  return [...found.values()].sort((a, b) => (a.rank === 'stop' ? 0 : 1) - (b.rank === 'stop' ? 0 : 1));
}

// The dealt pin that is tried next, of one section or of all; none where they are through.
export const nextPin = (check, readings, section) => check.deal?.find(([key, string, of]) => (!section || of === section)
  && !readings.some(one => one.key === key && one.string === string));

// A number to three significant digits, with the signs of the language.
export function shown(value, factor, language) {
  const number = value / factor;
  const digits = number ? Math.max(0, Math.min(8, 2 - Math.floor(Math.log10(Math.abs(number)) + 1e-12))) : 0;
  const text = number.toFixed(digits);
  const plain = text.includes('.') ? text.replace(/0+$/, '').replace(/\.$/, '') : text;
  return language === 'de' ? plain.replace('.', ',') : plain;
}

export const isNumber = typed => /^-?\d+(\.\d+)?\.?$/.test(typed);

// After which digit a pin's figure is whole, so that the next pin is asked for without a tap: in inch-pounds after the
// second unless the first is a 1, in newton metres after the first decimal.
export function isWholePin(typed, system) {
  return system === 'imperial' ? (/^[2-9]\d$/.test(typed) || /^1\d\d$/.test(typed)) : /^\d+\.\d$/.test(typed);
}
