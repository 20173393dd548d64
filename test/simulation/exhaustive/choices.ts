import { recalled, type SessionState } from '../../../src/procedure/index.ts';
import { ADA, abort, answer, type Bench, BO, change, note, type Sitting, STRANGER, send, tick } from './sitting.ts';
import { IDS } from './tank.ts';
import { plugOf, setRelay, TICK_MS, type World, withPlug } from './world.ts';

// What can happen at any moment beside time going by: faults of the tank, the plugs, the link and the service, and what
// a person does with a question.

export type Choice = { readonly name: string; readonly apply: (bench: Bench, sitting: Sitting) => Sitting };

const ofWorld = (name: string, apply: (world: World) => World): Choice => ({
  name,
  apply: (_, sitting) => change(sitting, apply(sitting.world)),
});

/** Nothing can show before the next command: planted right before it. */
export function faultsOfCommand(sitting: Sitting, id: string, turn: 'on' | 'off'): Choice[] {
  const { world } = sitting;
  const plug = plugOf(world, id);
  const faults: Choice[] = [];
  if (!plug.stuck && !plug.echoes) {
    faults.push(ofWorld(`stuck:${id}`, (w) => withPlug(w, id, { stuck: true })));
    faults.push(ofWorld(`echoes:${id}`, (w) => withPlug(w, id, { echoes: true })));
  }
  if (id === 'return' && !plug.seized) faults.push(ofWorld(`seizes:${id}`, (w) => withPlug(w, id, { seized: true })));
  if (id === 'return' && turn === 'off' && !world.siphonBlocked) faults.push(siphonBlocked);
  if (world.nextCommand === 'taken') {
    faults.push(ofWorld('command-lost', (w) => ({ ...w, nextCommand: 'lost' })));
    faults.push(ofWorld('command-refused', (w) => ({ ...w, nextCommand: 'refused' })));
  }
  return faults;
}

const siphonBlocked = ofWorld('siphon-hole-blocked', (w) => ({ ...w, siphonBlocked: true }));

/** Shows at once, so that it matters when it comes. */
function suddenFaults(sitting: Sitting, id: string): Choice[] {
  const plug = plugOf(sitting.world, id);
  const faults: Choice[] = [];
  // Another hand, another automation, or a plug that comes back on by itself.
  const toggle = plug.relay ? 'other-hand-off' : 'other-hand-on';
  faults.push(ofWorld(`${toggle}:${id}`, (w) => setRelay(w, id, !plug.relay)));
  if ((id === 'return' || id === 'flow') && plug.relay && !plug.hums)
    faults.push(ofWorld(`stalls:${id}`, (w) => withPlug(w, id, { hums: true })));
  return faults;
}

/** Shows only as time goes by: at the start of a stretch is as good as in its middle. */
export function creepingFaults(sitting: Sitting): Choice[] {
  const { world } = sitting;
  const faults: Choice[] = [];
  for (const id of IDS) {
    const plug = plugOf(world, id);
    if (plug.silent || plug.blind) continue;
    faults.push(ofWorld(`silent:${id}`, (w) => withPlug(w, id, { silent: true })));
    faults.push(ofWorld(`blind:${id}`, (w) => withPlug(w, id, { blind: true })));
  }
  if (!world.levelSilent) faults.push(ofWorld('level-silent', (w) => ({ ...w, levelSilent: true })));
  if (world.probeGapC === 0) faults.push(ofWorld('probes-differ', (w) => ({ ...w, probeGapC: 1.2 })));
  if (world.acks.length > 0) faults.push(ofWorld('answer-lost', (w) => ({ ...w, acks: [] })));
  return faults;
}

export function faultsAtOnce(sitting: Sitting): Choice[] {
  const { world } = sitting;
  const faults = IDS.flatMap((id) => suddenFaults(sitting, id));
  if (!plugOf(world, 'return').relay && !world.siphonBlocked) faults.push(siphonBlocked);
  if (world.extraCm === 0) faults.push(ofWorld('sump-filled-up', (w) => ({ ...w, extraCm: 17 })));
  if (!world.wet) faults.push(ofWorld('leak', (w) => ({ ...w, wet: true })));
  if (world.linkUp && world.serviceUp) {
    faults.push(lose('hub-gone-40-s', 2 * TICK_MS), lose('hub-gone-10-min', 600_000), crash);
  }
  return faults;
}

const lose = (name: string, ms: number): Choice => ({
  name,
  apply: (bench, sitting) => {
    const { at } = sitting.world;
    const lost = { ...sitting, world: { ...sitting.world, linkUp: false, backAt: at + ms, acks: [], asked: [] } };
    return send(bench, note(lost, { kind: 'link', at, state: 'lost' }), { kind: 'hub-lost', at });
  },
});

const crash: Choice = {
  name: 'service-killed',
  apply: (_, sitting) => {
    const { at } = sitting.world;
    const world = { ...sitting.world, serviceUp: false, backAt: at + 2 * TICK_MS, acks: [], asked: [] };
    return note({ ...sitting, world }, { kind: 'service', at, state: 'down' });
  },
};

/** The person who does as asked: reads, does it, answers. */
export const right: Choice = {
  name: 'answers',
  apply: (bench, sitting) => {
    const step = sitting.state.prompt?.step ?? '';
    let now = sitting;
    if (step === '#resume') now = putRight(now);
    if (step.startsWith('unplug:')) now = change(now, withPlug(now.world, step.slice(7), { unplugged: true }));
    if (step.startsWith('plug-in:'))
      now = change(now, { ...withPlug(now.world, step.slice(8), { unplugged: false }), handsIn: false });
    const works = step.startsWith('hands-on:');
    if (works && now.state.claims.length > 0) now = change(now, { ...now.world, handsIn: true });
    now = tick(bench, now);
    if (works) now = tick(bench, tick(bench, now));
    // The question may be another one by now: then this answer is not given.
    if (now.state.prompt?.step !== step) return now;
    if (works) now = change(now, { ...now.world, handsIn: false });
    return answer(bench, now, ADA);
  },
};

/** Off by the session and not told back. */
const mustBeOff = (state: SessionState, id: string): boolean =>
  state.offNow.includes(id) && typeof recalled(state.memory, `onSent.${id}`) !== 'number';

/** What a person finds broken is mended, and every switch set as the session wants it. */
function putRight(sitting: Sitting): Sitting {
  let world: World = {
    ...sitting.world,
    wet: false,
    levelSilent: false,
    probeGapC: 0,
    siphonBlocked: false,
    extraCm: 0,
  };
  for (const id of IDS) {
    const plug = plugOf(world, id);
    world = withPlug(world, id, {
      echoes: false,
      stuck: false,
      silent: false,
      blind: false,
      seized: false,
      hums: false,
    });
    const off = mustBeOff(sitting.state, id) || sitting.state.claims.some((claim) => claim.equipment === id);
    if (plug.relay === off || plug.says !== plug.relay) world = setRelay(world, id, !off);
  }
  return change(sitting, world);
}

/** Persons who are wrong: too soon, nobody known, an old answer, a resume with nothing mended, giving up. */
export function wrongs(sitting: Sitting): Choice[] {
  const step = sitting.state.prompt?.step ?? '';
  const choices: Choice[] = [
    { name: 'answers-too-soon', apply: (bench, now) => answer(bench, now, ADA) },
    { name: 'stranger-answers', apply: (bench, now) => answer(bench, tick(bench, now), STRANGER) },
    {
      name: 'answers-another-step',
      apply: (bench, now) => answer(bench, tick(bench, now), ADA, { step: 'on:topoff' }),
    },
    {
      name: 'answers-with-no-nonce-of-ours',
      apply: (bench, now) => answer(bench, tick(bench, now), ADA, { nonce: 'x' }),
    },
    { name: 'aborts', apply: (bench, now) => abort(bench, tick(bench, now)) },
  ];
  if (/^(unplug|hands-on|plug-in):/.test(step))
    choices.push({ name: 'another-person-answers', apply: (bench, now) => answer(bench, tick(bench, now), BO) });
  const spent = sitting.state.usedNonces.at(-1);
  if (spent !== undefined)
    choices.push({
      name: 'old-answer-again',
      apply: (bench, now) => answer(bench, tick(bench, now), ADA, { nonce: spent }),
    });
  if (step === '#resume' || step.startsWith('unplug:'))
    choices.push({ name: 'answers-without-doing', apply: (bench, now) => answer(bench, tick(bench, now), ADA) });
  return choices;
}

/** Anywhere, also with nothing asked. */
export const walksUpAndAborts: Choice = { name: 'aborts', apply: (bench, sitting) => abort(bench, sitting) };
