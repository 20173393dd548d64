import { Command } from 'commander';
import type { SessionView } from '../../app/index.ts';
import { nearest, problem } from '../../errors/index.ts';
import { lineLog, realClock } from '../../io/system/index.ts';
import { isPlugFault, PLUG_FAULTS, PLUG_KEYS, type PlugFault, type PlugKey } from '../../sim/index.ts';
import { type DemoOptions, demoResult, demoSession, type RunningDemo, startDemo } from '../demo-home.ts';
import type { CommandTools } from '../program.ts';
import { dueTable, usageTable } from '../render.ts';
import { headLine, standText, stepLines } from '../session-text.ts';
import { StopAsked, stopSignal, unlessAborted, untilAborted } from '../stop.ts';

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
      'limits in the place of a part’s own, as in uv-lamp:on-hours="9,500 h"; may be repeated',
      collect,
      [],
    )
    .option('--port <number>', 'port of the interface', '8787')
    .addHelpText(
      'after',
      `\nNeeds no hub. Its configuration and store are made anew in ${FOLDER}; with --once, nowhere.`,
    )
    .action(async (given: Given) => {
      const signal = stopSignal();
      try {
        await run(given, tools, signal);
      } catch (error) {
        // Stopping is the way a demo that stays up ends; one that should end by itself was cut short.
        if (given.once === true || !(error instanceof StopAsked)) throw error;
      }
    });
}

async function run(given: Given, tools: CommandTools, signal: AbortSignal): Promise<void> {
  const demo = await startDemo({ ...optionsOf(given, tools), signal });
  try {
    await unlessAborted(demo.service.app.settled(), signal);
    tools.out.progressDone();
    await show(demo, given, tools, signal);
    if (given.once === true) return;
    if (tools.globals().json !== true) stayText(tools.out.line);
    await untilAborted(signal);
  } finally {
    tools.out.progressDone();
    await demo.stop();
  }
}

async function show(demo: RunningDemo, given: Given, { out, globals, hint }: CommandTools, signal: AbortSignal) {
  const { app } = demo.service;
  const { label } = demo.home.person;
  const isJson = globals().json === true;
  const { look, line } = out;
  const usage = app.usage();
  const due = app.due();
  if (!isJson) {
    line(`${app.status().tank}: a simulated home, ${given.pace} times faster than real time, seed ${given.seed}\n`);
    line(usageTable(look, usage, demo.timeZone));
    line(`\n${look.paint('bold', 'What is due, and why')}\n`);
    const notFine = due.filter((one) => one.word !== 'fine');
    line(notFine.length === 0 ? 'Nothing is due.' : dueTable(look, notFine, demo.timeZone));
    line(`\n${look.paint('bold', `Skimmer service, started and confirmed in the hub by ${label}`)}\n`);
  }
  const onView = isJson ? () => {} : follow((step) => line(stepLines(look, step)));
  const view = await unlessAborted(demoSession(demo, 'skimmer-service', onView), signal);
  if (isJson) return out.json(demoResult(usage, due, view, label));
  line(`\n${headLine(look, view)}`);
  for (const text of standText(look, view, hint('session confirm'))) line(text);
}

function stayText(line: (text: string) => void): void {
  line('\nThe demo stays up. In another terminal:');
  for (const words of [
    'due',
    'usage --why lamp-1-tubes',
    'session start pump-pause',
    'session confirm',
    'session show',
    'replaced uv-lamp',
  ])
    line(`  npm run -s slackwater -- --config ${FOLDER}/slackwater.yaml ${words}`);
  line('The simulated person answers what is asked in the hub, too. Stop with Ctrl-C.');
}

/** Tells each step as it closes. */
function follow(tell: (step: SessionView['steps'][number]) => void): (view: SessionView) => void {
  const told = new Set<string>();
  return (view) => {
    for (const step of view.steps) {
      if (step.result === 'pending' || step.result === 'open' || told.has(step.id)) continue;
      told.add(step.id);
      tell(step);
    }
  };
}

function optionsOf(given: Given, { out }: CommandTools): Omit<DemoOptions, 'signal'> {
  return {
    seed: wholeNumber('--seed', given.seed, 0),
    pace: wholeNumber('--pace', given.pace, 1),
    faults: Object.fromEntries(given.fault.map(faultOf)),
    limits: given.limit.map(limitOf),
    behaviour: 'helpful',
    port: given.once === true ? 0 : wholeNumber('--port', given.port, 0),
    ...(given.once === true ? {} : { folder: FOLDER }),
    log: lineLog(realClock, { quiet: process.env['SLACKWATER_LOG'] === undefined, write: out.log }),
    onProgress: (share) => out.progress('reading eighteen months of history', share),
  };
}

function wholeNumber(option: string, text: string, least: number): number {
  const value = Number(text);
  if (text.trim() !== '' && Number.isSafeInteger(value) && value >= least) return value;
  const expected = least === 0 ? 'a whole number' : `a whole number of at least ${least}`;
  throw problem('SW-CLI-007', { option, found: text, expected, command: 'demo' });
}

function faultOf(text: string): [PlugKey, PlugFault] {
  const [name = '', kind = ''] = text.split('=');
  const names = PLUG_KEYS.map((key) => key.replaceAll('_', '-'));
  const plug = PLUG_KEYS.find((key) => key === name.replaceAll('-', '_'));
  if (plug !== undefined && isPlugFault(kind)) return [plug, kind];
  const meant = `${nearest(name, names) ?? 'skimmer'}=${nearest(kind, PLUG_FAULTS) ?? 'late'}`;
  throw problem('SW-CLI-007', {
    option: '--fault',
    found: text,
    expected: `PLUG=KIND, as in ${meant}, with a plug of ${names.join(', ')} and a kind of ${PLUG_FAULTS.join(', ')}`,
    command: 'demo',
  });
}

function limitOf(text: string): DemoOptions['limits'][number] {
  const match = /^([^:]+):([^=]+)=(.+)$/.exec(text);
  const [, part, measure, amount] = match ?? [];
  if (part !== undefined && measure !== undefined && amount !== undefined) return { part, measure, text: amount };
  throw problem('SW-CLI-007', {
    option: '--limit',
    found: text,
    expected: 'PART:MEASURE=AMOUNT, as in uv-lamp:on-hours="9,500 h"',
    command: 'demo',
  });
}
