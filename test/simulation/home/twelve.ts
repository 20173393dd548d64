// The demo tank's twelve planted events in order: what is expected of a good system, and what this one said and when:
// `node test/simulation/home/twelve.ts [--json] [--only 5]`. Times are the tank's own.
import { localTime } from '../../../src/sim/calendar.ts';
import { DAY_MS, type InstantMs, MINUTE_MS } from '../../../src/units/index.ts';
import { EVENTS, eventWords } from '../wear/events.ts';
import { heaterRevives, hubHangs, powerCut, type Story } from './stories.ts';

type Line = { readonly day: number; readonly time: string; readonly way: string; readonly text: string };
type Told = {
  readonly number: number;
  readonly day: number;
  readonly time: string;
  readonly what: string;
  readonly expected: string;
  readonly said: readonly Line[];
};

const EXPECTED: Readonly<Record<number, string>> = {
  1: 'one of three tubes out, bank 1; the day plan goes on, a spare is set aside',
  2: 'drift past 10 % warned about D85; the restart that fails at the pause told within 60 s; the other mover stays on',
  3: 'the top-off cut at its run limit and latched; the high float never touched',
  4: 'warned at 1 mg/L, the store blocked at 3; a putting-off that shows as a debt',
  5: 'a list of what did not come back, words for a deputy; 0.6 °C lost; skimmer after a steady level, top-off last',
  6: 'unknown, never normal; at 30 min of the return the caretaker told by a second path to start it by hand; then re-read, then confirmed',
  7: 'alarm, off, and the start-up setting listed to be looked at',
  8: 'alarm at two readings, not when the heater’s own stop holds',
  9: 'flow with the command off told after 3 min, the hand valve asked for; the leak sensor wet at 45 min',
  10: 'the fan named; no light that heats more than needed; the cap of the top-off raised by a person only',
  11: 'the stop given up at a fifth more than usual, about a minute in; return back on, the hole to be cleared',
  12: 'two thermometers apart by 0.7 °C about D411; odd heating for the room; a reference thermometer asked for',
};

const clockOf = (ofDayMs: number): string => {
  const at = new Date(ofDayMs);
  return at.toISOString().slice(11, 19);
};

function lineOf(at: InstantMs, way: string, text: string): Line {
  const { day, ofDayMs } = localTime(at);
  return { day, time: clockOf(ofDayMs), way, text };
}

function ofStory(story: Story): Told {
  const { day, ofDayMs } = localTime(story.at);
  // What went both ways is told once here.
  const said = story.heard.filter(
    (one, index) => story.heard.findIndex(({ at, text }) => at === one.at && text === one.text) === index,
  );
  const both = (one: Story['heard'][number]): string =>
    story.heard
      .filter(({ at, text }) => at === one.at && text === one.text)
      .map(({ way }) => way)
      .join(' and ');
  const acts = story.sent
    .filter(({ at }) => at >= story.at)
    .map(({ at, equipment, turn }) => lineOf(at, 'switched', `${equipment} ${turn}`));
  const lines = [...said.map((one) => lineOf(one.at, both(one), one.text)), ...acts];
  const last = story.sent.at(-1)?.at ?? story.at;
  return {
    ...{ number: story.number, day, time: clockOf(ofDayMs), what: story.what, expected: EXPECTED[story.number] ?? '' },
    said: [
      ...lines.sort((a, b) => a.day - b.day || a.time.localeCompare(b.time)),
      lineOf(last, 'at the end', story.ended),
    ],
  };
}

function ofCondition(event: (typeof EVENTS)[number]): Told {
  const { number, day, minute, what } = event;
  return {
    ...{ number, day, time: clockOf(minute * MINUTE_MS), what, expected: EXPECTED[number] ?? '' },
    said: eventWords(event).map((word) => ({
      ...{ day: word.day, time: clockOf((word.minute * MINUTE_MS) % DAY_MS), way: `${word.kind}, ${word.sure}` },
      text: word.evidence,
    })),
  };
}

const STORIES: Readonly<Record<number, () => Promise<Story>>> = { 5: powerCut, 6: hubHangs, 7: heaterRevives };

async function* told(only: number | null): AsyncIterable<Told> {
  for (let number = 1; number <= 12; number += 1) {
    if (only !== null && only !== number) continue;
    const story = STORIES[number];
    const event = EVENTS.find((one) => one.number === number);
    if (story !== undefined) yield ofStory(await story());
    else if (event !== undefined) yield ofCondition(event);
  }
}

async function print(): Promise<void> {
  const place = process.argv.indexOf('--only');
  const only = place === -1 ? null : Number(process.argv[place + 1]);
  const all: Told[] = [];
  const isJson = process.argv.includes('--json');
  for await (const one of told(only)) {
    all.push(one);
    if (isJson) continue;
    process.stdout.write(
      `${one.number}. D${one.day} ${one.time.slice(0, 5)} ${one.what}\n   expected: ${one.expected}\n`,
    );
    for (const { day, time, way, text } of one.said) process.stdout.write(`   D${day} ${time} [${way}] ${text}\n`);
  }
  if (isJson) process.stdout.write(`${JSON.stringify(all)}\n`);
}

if (import.meta.main) await print();
