import type { ProcedureDef } from './types.ts';

/** Jobs as data. Which steps they take on a given tank is built from its equipment and the rules. */
export const PROCEDURES = {
  'skimmer-service': {
    id: 'skimmer-service',
    title: 'Skimmer service',
    purpose: 'Take the skimmer out, clean it and bring it back.',
    stop: ['skimmer'],
    handle: ['skimmer'],
    // Lifting the body out and putting it back moves the sump level, so everything that adds water goes off first.
    effects: ['sump-level'],
    beforeUnplug: { rule: 'K7', setting: 'foamMs' },
    handsOn: [
      {
        id: 'lift',
        text: 'Lift the skimmer out over a tray; pour the water of its body back into the sump, it is salt water.',
        cautions: ['lifting', 'skin-infection', 'palytoxin'],
      },
      {
        id: 'clean',
        text: 'Wipe cup and neck under hot water; soak pump, wheel and air line 30 min in one part vinegar and two parts water; rinse twice.',
        cautions: ['acids'],
      },
      {
        id: 'refit',
        text: 'Put it back at its lowest setting; check that the wheel spins and the air line is clear.',
        cautions: ['lifting'],
      },
    ],
    steadyBeforeStart: { rule: 'K8', setting: 'serviceSteadyMs' },
  },
  'pump-pause': {
    id: 'pump-pause',
    title: 'Short pump pause',
    purpose: 'Stop the return for a few minutes, for feeding or a look at still water. Circulation stays on.',
    stop: ['return-pump'],
    handle: [],
    effects: [],
    handsOn: [{ id: 'pause', text: 'The return stands still. Say when you are done.', cautions: [] }],
    endsAfter: { rule: 'K35', setting: 'pauseMs' },
  },
} as const satisfies Readonly<Record<string, ProcedureDef>>;

export type ProcedureId = keyof typeof PROCEDURES;

export const isProcedure = (id: string): id is ProcedureId => Object.hasOwn(PROCEDURES, id);

export const procedureDef = (id: ProcedureId): ProcedureDef => PROCEDURES[id];
