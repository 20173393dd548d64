// Sequences in which the hub, the service or both are ended and begun again under the devices.
import { every, off, on, type Phase, runs, type Sequence } from './fault-sequences-script.ts';

export const HUB_PHASES: readonly Phase[] = [
  { id: 'restart', title: 'the hub is restarted', minutes: 30, hub: [[10, 'hub stops', 'hub starts']] },
];

export const hubSequences: readonly Sequence[] = [
  {
    id: 'f20',
    title: 'hub restarted while the lamp is on',
    kind: 'switch',
    phase: 'restart',
    exact: false,
    script: [
      [4, on],
      [24, off],
    ],
    remark: '',
  },
  {
    id: 'f21',
    title: 'hub restarted while a meter runs',
    kind: 'meter',
    phase: 'restart',
    reading: 500,
    exact: true,
    script: [...every(2, 2, 4, runs(1)), ...every(12, 2, 6, runs(1))],
    remark: '',
  },
];
