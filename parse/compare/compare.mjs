// Prints one Markdown table: the share of notes read exactly, the silent misreads and the
// speed of each reader.   node compare.mjs [--misses] FILE.jsonl READBACK

import { spawnSync } from 'node:child_process';
import { closeSync, openSync, readFileSync, writeFileSync } from 'node:fs';
import { byCompromise, byRecognizers, byWords } from './readers.mjs';
import { measure, same } from './units.mjs';

const rounds = 7; // the best counts: others may use the machine
const roundNs = 4e8; // at least, for a library
const repeated = 60_000; // notes in one run of Readback, so that its start weighs little

function main() {
  const args = process.argv.slice(2).filter((arg) => arg !== '--misses');
  const notes = loadNotes(args[0]);
  const { dependencies } = JSON.parse(readFileSync('package.json', 'utf8'));
  const library = (packages, read) => ({
    label: packages.map((name) => `${name.split('/').at(-1)} ${dependencies[name]}`).join(' + '),
    score: score(notes, notes.map((note) => read(note.text))),
    speed: librarySpeed(notes, read),
  });
  const results = [
    library(['@microsoft/recognizers-text-suite'], byRecognizers),
    library(['words-to-numbers', 'js-quantities'], byWords),
    library(['compromise'], byCompromise),
    readback(notes, args[1]),
  ];
  console.log(table(notes, results));
  if (process.argv.includes('--misses')) results.forEach(printMisses);
}

function loadNotes(path) {
  const lines = readFileSync(path, 'utf8').split('\n').filter((line) => line.trim() !== '');
  return lines.map((line) => {
    const note = JSON.parse(line);
    return { text: note.text, class: note.class, want: measured(note.want.flatMap(ends)) };
  });
}

// ends gives a wanted quantity as values: a range is its ends.
function ends({ value, low, high, unit }) {
  return [value, low, high].filter((v) => v !== undefined).map((v) => ({ value: v, unit }));
}

// measured gives the quantities in SI, without the bare numbers.
function measured(quantities) {
  return quantities.filter(({ unit }) => unit !== '1').map(({ value, unit }) => measure(value, unit));
}

// score compares what was found in each note with what is wanted.
function score(notes, found) {
  return notes.map((note, i) => {
    const missing = [...note.want];
    const extra = [];
    for (const quantity of measured(found[i])) {
      const at = missing.findIndex((wanted) => same(wanted, quantity));
      if (at >= 0) missing.splice(at, 1);
      else extra.push(quantity);
    }
    return { note, found: found[i], exact: missing.length + extra.length === 0, misread: extra.length > 0 };
  });
}

// bestOf gives the most notes a second of some rounds; each says how many it read.
function bestOf(round) {
  let best = 0;
  for (let i = 0; i < rounds; i++) {
    const start = process.hrtime.bigint();
    const read = round(start);
    best = Math.max(best, (read * 1e9) / Number(process.hrtime.bigint() - start));
  }
  return best;
}

function librarySpeed(notes, read) {
  return bestOf((start) => {
    let count = 0;
    do {
      for (const note of notes) read(note.text);
      count += notes.length;
    } while (process.hrtime.bigint() - start < roundNs);
    return count;
  });
}

// readback scores `readback parse --json` on the notes once, and times it on many.
function readback(notes, binary) {
  const times = Math.ceil(repeated / notes.length);
  const texts = notes.map((note) => `${note.text}\n`).join('');
  writeFileSync('once.txt', texts);
  writeFileSync('many.txt', texts.repeat(times));
  const found = runReadback(binary, 'once.txt', notes.length);
  const speed = bestOf(() => runReadback(binary, 'many.txt', 0) ?? notes.length * times);
  return { label: 'Readback, `readback parse --json`', score: score(notes, found), speed };
}

// runReadback gives what was found in each of count notes; where count is 0 the answers
// are left in the file, so that reading them does not count into the time.
function runReadback(binary, file, count) {
  const out = openSync('answers.jsonl', 'w');
  const { status, error } = spawnSync(binary, ['parse', '--json', file], { stdio: ['ignore', out, 'inherit'] });
  closeSync(out);
  if (status !== 0) throw new Error(`readback parse failed: ${error ?? `status ${status}`}`);
  if (count === 0) return undefined;
  const answers = readFileSync('answers.jsonl', 'utf8').trimEnd().split('\n').map((line) => JSON.parse(line));
  if (answers.length !== count) throw new Error(`readback answered ${answers.length} of ${count} notes`);
  return answers.map((answer) => answer.quantities ?? []);
}

function table(notes, results) {
  const rows = results.map(({ label, score: s, speed }) => row(label, s, twoFigures(speed)));
  const ours = results.at(-1).score;
  for (const name of [...new Set(ours.filter((s) => !s.exact).map((s) => s.note.class))].sort()) {
    const part = ours.filter((s) => s.note.class === name);
    rows.push(row(`Readback, the ${part.length} notes of class "${name}"`, part, ''));
  }
  const head = `| reader, on ${notes.length} notes | notes exact | silent misreads | notes/s |`;
  return [head, '| --- | --- | --- | --- |', ...rows].join('\n');
}

function row(label, scored, speed) {
  const exact = scored.filter((s) => s.exact).length;
  const misread = scored.filter((s) => s.misread).length;
  return `| ${label} | ${share(exact, scored)} | ${share(misread, scored)} | ${speed} |`;
}

function share(part, whole) {
  return `${((100 * part) / whole.length).toFixed(1)} % (${part})`;
}

// twoFigures rounds: a speed moves more than that from run to run.
function twoFigures(speed) {
  return Number(speed.toPrecision(2)).toLocaleString('en-US');
}

// printMisses says what a reader made of the notes that it did not read exactly.
function printMisses({ label, score: scored }) {
  console.error(`\n${label}`);
  for (const { note, found, exact, misread } of scored) {
    if (exact) continue;
    const said = found.map(({ value, unit }) => `${value} ${unit}`);
    console.error(`  ${misread ? 'misread' : 'missed '} [${note.class}] ${note.text} -> ${said.join(', ')}`);
  }
}

main();
