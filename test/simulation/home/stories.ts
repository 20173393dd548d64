// Three of the demo tank's planted events that are no condition of one equipment but a story of sessions, guards and watches:
// a power cut, a hub that hangs in a pause, a plug that comes back on by itself. Each is told as it was lived by the service.
import { atLocal } from '../../../src/sim/calendar.ts';
import { blip, deviceOf, setClosed, setPluggedIn } from '../../../src/sim/session/index.ts';
import type { InstantMs } from '../../../src/units/index.ts';
import { GUARDS } from '../wear/protected.ts';
import { type Heard, minutes, type ServiceInTime, serviceInTime, startedBy } from './service-in-time.ts';

export type Story = {
  readonly number: 5 | 6 | 7;
  readonly what: string;
  /** When it struck. */
  readonly at: InstantMs;
  readonly heard: readonly Heard[];
  readonly sent: ServiceInTime['sent'];
  readonly ended: string;
};

export type PowerCut = Story & {
  readonly lostC: number;
  readonly hubBackAt: InstantMs;
  /** Why the restart waits for the deputy. */
  readonly heldBy: readonly string[];
  /** What every surface lists before anybody has come. */
  readonly listed: readonly string[];
  readonly beforeSession: number;
  readonly steps: readonly { readonly id: string; readonly at: InstantMs }[];
};
export type HubHangs = Story & {
  readonly backAt: InstantMs;
  readonly returnOffAt: InstantMs;
  /** What the service said of itself while it hung, minute by minute. */
  readonly during: readonly { readonly hub: string; readonly status: string; readonly attention: readonly string[] }[];
  readonly resumedAt: InstantMs;
};
export type Revives = Story & { readonly offAt: InstantMs | null; readonly questions: readonly string[] };

const openStep = (s: ServiceInTime): string => {
  const view = s.session();
  return view?.steps[view.step]?.id ?? '';
};
const isOver = (s: ServiceInTime): boolean =>
  ['complete', 'stopped', 'aborted'].includes(s.session()?.status ?? 'none');
const endOf = (s: ServiceInTime): string => `${s.session()?.status}: ${s.session()?.summary}`;

const CUT_MIN = 130;
const DARK = ['skimmer', 'heater-1'];

/** D160: no mains and no network from 03:20 to 05:30; one strip stays dark. A deputy comes at six. */
export async function powerCut(): Promise<PowerCut> {
  const s = await serviceInTime({ at: atLocal(160, 3, 5), guards: GUARDS });
  const { world } = s;
  deviceOf(world, 'circulation-right').hasBattery = true;
  await s.wait(minutes(15));
  const at = world.at;
  const beforeC = world.water.displayC;
  blip(world, minutes(CUT_MIN));
  // The earth-leakage switch of their strip drops out: no power, no report.
  for (const id of DARK) Object.assign(deviceOf(world, id), { isSilent: true, pluggedIn: false });
  await s.loseHub(false);
  await s.wait(at + minutes(CUT_MIN + 1) - world.at);
  const lostC = beforeC - world.water.displayC;
  const hubBackAt = world.at;
  await s.hubBack(true);
  await s.wait(minutes(29));
  const listed = s.app.attention().map(({ text }) => text);
  const beforeSession = s.sent.length;
  const steps: { id: string; at: InstantMs }[] = [];
  const heldBy = new Set<string>();
  s.attend(true);
  await s.app.startSession('power-cut-restart', startedBy);
  await s.until(() => {
    const id = openStep(s);
    if (steps.at(-1)?.id !== id) steps.push({ id, at: world.at });
    if (s.session()?.status === 'held' && id === 'check:ready') heldBy.add(s.session()?.hold?.text ?? '');
    const isReset = !deviceOf(world, 'skimmer').isSilent;
    // The first reading of everything says which plugs do not answer: the deputy goes along the strips.
    if (id === 'check:ready' && s.session()?.status === 'held' && !isReset)
      for (const dark of DARK) {
        deviceOf(world, dark).isSilent = false;
        setPluggedIn(world, dark, true);
      }
    return isOver(s);
  }, minutes(120));
  await s.wait(minutes(1));
  const ended = endOf(s);
  await s.stop();
  return {
    ...{ number: 5, what: 'power cut with the network from 03:20 to 05:30, one strip stays dark' },
    ...{ at, lostC, hubBackAt, listed, beforeSession, heldBy: [...heldBy], steps, heard: s.heard, sent: s.sent, ended },
  };
}

const HANGS_MIN = 47;

/** D178: the return stands for a pause from 11:00; the hub hangs from two minutes after that for 47 min. Nobody comes. */
export async function hubHangs(): Promise<HubHangs> {
  const s = await serviceInTime({ at: atLocal(178, 10, 42), guards: GUARDS });
  const { world } = s;
  await s.wait(minutes(2));
  s.attend(true);
  await s.app.startSession('pump-pause', startedBy);
  const isOff = (): boolean => s.sent.some(({ equipment, turn }) => equipment === 'return-pump' && turn === 'off');
  await s.until(isOff, minutes(40));
  s.attend(false);
  const returnOffAt = s.sent.at(-1)?.at ?? 0;
  await s.wait(minutes(2));
  const at = world.at;
  await s.loseHub(false);
  const during: HubHangs['during'][number][] = [];
  while (world.at < at + minutes(HANGS_MIN)) {
    await s.wait(Math.min(minutes(1), at + minutes(HANGS_MIN) - world.at));
    const attention = s.app.attention().map(({ text }) => text);
    during.push({ hub: s.app.status().hub, status: s.session()?.status ?? '', attention });
  }
  const backAt = world.at;
  await s.hubBack(true);
  // Somebody is there three minutes later.
  await s.wait(minutes(3));
  const resumedAt = world.at;
  s.attend(true);
  await s.until(() => isOver(s), minutes(120));
  await s.wait(minutes(1));
  const ended = endOf(s);
  await s.stop();
  return {
    ...{ number: 6, what: 'the hub hangs for 47 min while the return stands for a pause' },
    ...{ at, backAt, returnOffAt, during, resumedAt, heard: s.heard, sent: s.sent, ended },
  };
}

/** D203, in the overhaul: the plug of the barrel's heater reboots and starts by itself, the barrel is empty. */
export async function heaterRevives(): Promise<Revives> {
  const s = await serviceInTime({ at: atLocal(203, 9, 0), guards: GUARDS });
  const { world } = s;
  await s.wait(minutes(2));
  s.attend(true);
  await s.app.startSession('annual-overhaul', startedBy);
  await s.until(() => openStep(s) === 'rest:skimmer', minutes(200));
  const at = world.at;
  const told = s.heard.length;
  setClosed(world, deviceOf(world, 'mixing-heater'), true, 'itself');
  await s.until(() => !deviceOf(world, 'mixing-heater').closed, minutes(2));
  const offAt = deviceOf(world, 'mixing-heater').closed ? null : world.at;
  await s.until(() => isOver(s), minutes(400));
  const questions = s.app.questions(false).map(({ text }) => text);
  const ended = endOf(s);
  await s.stop();
  // Reminders of the overhaul's own claims are another story.
  const heard = s.heard.slice(told).filter(({ text }) => !text.includes('is still claimed by'));
  return {
    ...{ number: 7, what: 'the plug of the barrel heater comes back on by itself in the overhaul' },
    ...{ at, offAt, questions, heard, sent: s.sent.filter((one) => one.at >= at), ended },
  };
}
