import { Command } from 'commander';
import { formatInstant, formatSpan } from '../../units/index.ts';
import type { ApiStatus } from '../../web/index.ts';
import { readConfig, serviceClient } from '../config-file.ts';
import { hang } from '../layout.ts';
import type { CommandTools } from '../program.ts';

const LINK: Readonly<Record<ApiStatus['hub'], string>> = {
  up: 'connected',
  down: 'not connected; what passes until it is back is a gap with bounds',
  connecting: 'not reached yet',
  refused: 'refused the token; nothing is counted until it is corrected',
};

export function statusCommand({ out, globals, hint }: CommandTools): Command {
  return new Command('status')
    .description('how the service is: its hub, clocks, since when it counts, what it asks')
    .action(async () => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const status = await (await serviceClient(loaded, as)).status();
      if (json === true) return out.json(status);
      const { look } = out;
      for (const [name, text] of linesOf(status, loaded.config.tank.timeZone, hint('questions'), hint('session back')))
        out.line(hang(look, name.padEnd(18), text));
    });
}

function linesOf(
  status: ApiStatus,
  zone: string,
  questions: string,
  back: string,
): readonly (readonly [string, string])[] {
  const { clockSkewMs, bridgeableMs, countingSince, openQuestions, warnings = [], version = 'unknown' } = status;
  const { leftOut = [] } = status;
  const open = openQuestions ?? 0;
  return [
    ['Tank', `${status.tank}${status.simulated ? ' (simulated)' : ''}`],
    ['Service', `version ${version}`],
    ['Hub', `${LINK[status.hub]}${status.hubVersion === null ? '' : ` (${status.hubVersion})`}`],
    ['Clock of the hub', skewText(clockSkewMs ?? null)],
    ['Counting since', countingSince == null ? 'nothing was counted yet' : formatInstant(countingSince, zone)],
    [
      'Bridges',
      bridgeableMs == null
        ? 'the hub has not told how far its history goes'
        : `an absence of up to ${formatSpan(bridgeableMs)} from the history of the hub; a longer one leaves a gap with bounds`,
    ],
    ['Questions', open === 0 ? 'none' : `${open} ${open === 1 ? 'waits' : 'wait'} for an answer: ${questions}`],
    ...leftOut.map(
      ({ name, equipment, since, driver }) =>
        [
          'Out of service',
          `${name}, left ${driver === undefined ? 'so' : `without ${driver}`} by a session ${formatInstant(since, zone)}; if it is back: ${back} ${equipment}`,
        ] as const,
    ),
    ...(status.attention ?? []).map(
      ({ text, toDo }) =>
        [toDo === '' ? 'Watched' : 'ATTENTION', toDo === '' ? `${text}.` : `${text}. ${toDo}`] as const,
    ),
    ...warnings.map((warning) => ['Warning', warning] as const),
  ];
}

/** Sessions are refused above five seconds; below one nobody need care. */
function skewText(skewMs: number | null): string {
  if (skewMs === null) return 'not measured yet';
  const size = Math.abs(skewMs);
  if (size < 1_000) return 'within a second of ours';
  const side = skewMs > 0 ? 'ahead of' : 'behind';
  return `${formatSpan(size)} ${side} ours${size > 5_000 ? '; no session is started until they agree' : ''}`;
}
