import { Command } from 'commander';
import type { SessionView } from '../../app/index.ts';
import { listWords, problem } from '../../errors/index.ts';
import { lineLog, realClock } from '../../io/system/index.ts';
import { isPlugFault, PLUG_FAULTS, PLUG_KEYS, type PlugFault, type PlugKey } from '../../sim/index.ts';
import { type DemoOptions, demoResult, demoSession, type RunningDemo, startDemo } from '../demo-home.ts';
import type { CommandTools } from '../program.ts';
import { dueTable, sessionText, stepLine, usageTable } from '../render.ts';
import { untilStopped } from '../signals.ts';

type Given = {
  readonly seed: string;
  readonly pace: string;
  readonly once?: boolean;
  readonly fault: readonly string[];
  readonly limit: readonly string[];
  readonly port: string;
};

const DEFAULT_PACE = 60;
const FOLDER = 'data/demo';
const collect = (value: string, before: readonly string[]): readonly string[] => [...before, value];

export function demoCommand(tools: CommandTools): Command {
  return new Command('demo')
    .description('the main job on a simulated home: usage, what is due, a skimmer service; then stays up')
    .option('--seed <number>', 'another past and other noise', '1')
    .option('--pace <factor>', 'times faster than real time', String(DEFAULT_PACE))
    .option('--once', 'end after the skimmer service')
    .option('--fault <plug=kind>', `a misbehaving plug: ${PLUG_FAULTS.join(', ')}; may be repeated`, collect, [])
    .option(
      '--limit <part:measure=amount>',
      'another limit, as in uv-lamp:on-hours="9,000 h"; may be repeated',
      collect,
      [],
    )
    .option('--port <number>', 'port of the interface', '8787')
    .action(async (given: Given) => {
      const demo = await startDemo(optionsOf(given, tools));
      tools.out.progressDone();
      try {
        await show(demo, given, tools);
      } finally {
        await demo.stop();
      }
    });
}

async function show(demo: RunningDemo, given: Given, { out, globals }: CommandTools): Promise<void> {
  const { app } = demo.service;
  const isJson = globals().json === true;
  await app.settled();
  out.progressDone();
  const usage = app.usage();
  const due = app.due();
  if (!isJson) {
    out.line(`${app.status().tank}: a simulated home, ${given.pace} times faster than real time, seed ${given.seed}\n`);
    out.line(usageTable(usage, demo.timeZone));
    out.line(`\nWhat is due, and why\n`);
    out.line(dueTable(due.filter((one) => one.word !== 'fine')));
    out.line(`\nSkimmer service, started and confirmed in the hub by ${demo.home.person.label}\n`);
  }
  const view = await demoSession(demo, 'skimmer-service', isJson ? () => {} : follow(out.line));
  if (isJson) {
    out.json(demoResult(usage, due, view, demo.home.person.label));
    return;
  }
  out.line(`\n${sessionText(view)}`);
  if (given.once === true) return;
  out.line('\nThe demo stays up. In another terminal:');
  for (const line of [
    'due',
    'usage --why lamp-bank-1-tubes',
    'session start pump-pause',
    'session confirm',
    'session show',
  ])
    out.line(`  npm run -s slackwater -- --config ${FOLDER}/slackwater.yaml ${line}`);
  out.line('The simulated person answers the hold points in the hub. Stop with Ctrl-C.');
  await untilStopped();
}

/** Prints each step as it closes. */
function follow(line: (text: string) => void): (view: SessionView) => void {
  const told = new Set<string>();
  return (view) => {
    for (const step of view.steps) {
      if (step.result === 'pending' || step.result === 'open' || told.has(step.id)) continue;
      told.add(step.id);
      line(stepLine(step));
    }
  };
}

function optionsOf(given: Given, { out, globals }: CommandTools): DemoOptions {
  const isJson = globals().json === true;
  return {
    seed: wholeNumber('--seed', given.seed),
    pace: wholeNumber('--pace', given.pace),
    faults: Object.fromEntries(given.fault.map(faultOf)),
    limits: given.limit.map(limitOf),
    behaviour: 'helpful',
    port: given.once === true ? 0 : wholeNumber('--port', given.port),
    ...(given.once === true ? {} : { folder: FOLDER }),
    log: lineLog(realClock, { quiet: process.env['SLACKWATER_LOG'] === undefined }),
    onProgress: (share) => {
      if (!isJson) out.progress(`reading eighteen months of history: ${Math.round(100 * share)} %`);
    },
  };
}

function wholeNumber(option: string, text: string): number {
  const value = Number(text);
  if (Number.isSafeInteger(value) && value >= 0) return value;
  throw problem('SW-CLI-007', { option, found: text, expected: 'a whole number', command: 'demo' });
}

function faultOf(text: string): [PlugKey, PlugFault] {
  const [name = '', kind = ''] = text.split('=');
  const plug = PLUG_KEYS.find((key) => key === name.replaceAll('-', '_'));
  if (plug !== undefined && isPlugFault(kind)) return [plug, kind];
  const expected = `PLUG=KIND with a plug of ${listWords(PLUG_KEYS, 30)} and a kind of ${PLUG_FAULTS.join(', ')}`;
  throw problem('SW-CLI-007', { option: '--fault', found: text, expected, command: 'demo' });
}

function limitOf(text: string): DemoOptions['limits'][number] {
  const match = /^([^:]+):([^=]+)=(.+)$/.exec(text);
  const [, part, measure, amount] = match ?? [];
  if (part !== undefined && measure !== undefined && amount !== undefined) return { part, measure, text: amount };
  throw problem('SW-CLI-007', {
    option: '--limit',
    found: text,
    expected: 'PART:MEASURE=AMOUNT, as in uv-lamp:on-hours="9,000 h"',
    command: 'demo',
  });
}
