// The page on the fault sequences. Its words stand here, its figures come from the run.
import { hubVersion } from '../support/hub-config.ts';
import type { Outcome } from './fault-sequences-run.ts';
import type { HubAction, Phase, Step } from './fault-sequences-script.ts';

const UNITS: Readonly<Record<string, string>> = { minutes: 'min on', starts: 'starts', wattHours: 'Wh', litres: 'L' };

const number = (value: number): string => String(Math.round(value * 100) / 100);

/** Within the doubt there is about the truth itself, and what two decimals cut off. */
export const isTrue = ({ truth, slack }: Outcome, value: number): boolean =>
  value <= truth.high + slack + 0.005 && value >= truth.low - slack - 0.005;

export const isInside = ({ truth, slack, ours }: Outcome): boolean =>
  ours.low <= truth.high + slack && ours.high >= truth.low - slack;

const middle = ({ truth }: Outcome): number => (truth.low + truth.high) / 2;

function deviation(outcome: Outcome, value: number): string {
  if (isTrue(outcome, value)) return '';
  const apart = value - middle(outcome);
  return ` (${apart > 0 ? '+' : '−'}${number(Math.abs(apart))})`;
}

/** One figure where the bounds meet, or where they are apart by less than the latency of the reports. */
function bounds({ ours, slack }: Outcome): string {
  const { low, best, high } = ours;
  return high - low <= slack ? number(best) : `${number(low)} / ${number(best)} / ${number(high)}`;
}

function cells(outcome: Outcome, isFirst: boolean): readonly string[] {
  const { sequence, measure, ours, helper } = outcome;
  const [today, before] = helper.parts;
  const parts =
    today === undefined || before === undefined ? '' : `: today ${number(today)}, the day before ${number(before)}`;
  const theirs =
    helper.value === null ? 'no value' : `${number(helper.value)}${deviation(outcome, helper.value)}${parts}`;
  return [
    isFirst ? sequence.id.slice(1) : '',
    isFirst ? sequence.title : '',
    `${number(middle(outcome))} ${UNITS[measure]}`,
    `${bounds(outcome)}${deviation(outcome, ours.best)}`,
    theirs,
    helper.name,
    isFirst ? sequence.remark : '',
  ];
}

const row = (texts: readonly string[]): string => `| ${texts.join(' | ')} |`;

export function table(outcomes: readonly Outcome[]): string {
  const head = ['#', 'sequence', 'truth', 'ours', 'hub’s helper', 'which helper', 'remark'];
  const rows = outcomes.map((outcome, index) =>
    row(cells(outcome, outcomes[index - 1]?.sequence !== outcome.sequence)),
  );
  return [row(head), row(head.map(() => '---')), ...rows].join('\n');
}

const stepText = ([minute, ...actions]: Step<HubAction>): string => `minute ${minute}: ${actions.join(', ')}`;

function section(phase: Phase, outcomes: readonly Outcome[]): string {
  const found = outcomes.filter(({ sequence }) => sequence.phase === phase.id);
  const steps = phase.hub.map(stepText).join('; ');
  return `### ${phase.title[0]?.toUpperCase()}${phase.title.slice(1)}

${phase.minutes} minutes of script. ${steps === '' ? '' : `${steps[0]?.toUpperCase()}${steps.slice(1)}.`}

${table(found)}
`;
}

function summary(outcomes: readonly Outcome[]): string {
  const sequences = new Set(outcomes.map(({ sequence }) => sequence.id));
  const inside = outcomes.filter(isInside);
  const best = outcomes.filter((outcome) => isTrue(outcome, outcome.ours.best));
  const helper = outcomes.filter((outcome) => outcome.helper.value !== null && isTrue(outcome, outcome.helper.value));
  const latency = Math.max(...outcomes.map(({ slack, measure }) => (measure === 'minutes' ? slack : 0)));
  return `${sequences.size} sequences give ${outcomes.length} figures. The truth lies within the service's bounds in ${inside.length} of them and is its best
figure in ${best.length}; the hub's helper has it in ${helper.length}. All reports of a sequence together took the hub at most
${number(latency)} tank-minutes to take in, the jitter of its clock counted in; by that much a time may differ without being wrong.`;
}

/** `figures` of one whole run. */
export function page(outcomes: readonly Outcome[], phases: readonly Phase[]): string {
  return `# Fault sequences

What a home does to a counter, played through a real hub (Home Assistant ${hubVersion}): its own generic helpers and the service count
the same entities at the same time, and both are held against what really happened, which only the script knows. This page is written
by the run; no figure in it was put in by hand.

${summary(outcomes)}

## How to read it

One minute of the tank takes one second. Times, watt-hours and litres are the tank's. **Truth** is what the device did, by the
script's own clock, whether or not anybody could see it. **Ours** is \`low / best / high\`, or one figure where nothing is in doubt;
a difference to the truth stands behind the best figure and behind the helper's. Figures are what was added from the beginning to the end of a phase.

The helpers are set up in YAML as their documentation shows: \`history_stats\` (time and count, from a fixed moment until now),
\`utility_meter\` with its defaults, \`integration\` with the left method, and \`threshold\` where a device is on by its watts. Theirs are only
written down. Ours are checked: low ≤ truth ≤ high in every sequence, and best is the truth in every one that left the service a way to know it.

Devices are template entities, so they come back when the hub does, as it finds them then. While the hub or the service starts or ends the script's clock waits; the tank goes on.

## What was found

${phases.map((phase) => section(phase, outcomes)).join('\n')}
## What the scale changes

The service's own waits for a hub that is starting are cut to the scale (settling 0.3 s, keep-alive 2 s). What is fixed in it is not: it grants a meter an hour
and a minute of its fastest run, thinks a switch may start once a minute, and after a gap takes an off of less than ten seconds for no proof of a
start. At this scale that is 60 tank-hours and one more, one start in a tank-hour, and ten tank-minutes. So upper bounds of meters are wider here than
in service, a jump must be much larger to be noticed, and some starts after a gap are in doubt that would be counted in service. Helpers and service
alike see hub starts that last many tank-minutes. The clock changes of the two nights are one tank-hour, in time zones made for the run.

## What no rule of ours can see

These follow from the rules; they are not among the sequences.

- A bridge that comes back and tells an old “on” is believed until it tells better. Where the device went off just before the bridge was lost, the service's low figure is too high by that time.
- A meter replaced by a used one that shows little: what it shows is taken for use since the change.
- A hub that stands still without ending dates what happened meanwhile when it moves again, in its history too.

## Run it again

    npm run prepare-tests
    SLACKWATER_WRITE_DOCS=1 npx node --test test/full/fault-sequences.test.ts

It takes about ten minutes and is part of \`npm run test:full\`, which leaves this page alone unless told otherwise.
The sequences are data in \`test/full/fault-sequences-*.ts\`; a new one is a few lines there.
`;
}
