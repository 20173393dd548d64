import type { Mutation } from './plant.ts';

// What a builder could get wrong: the order of things, and what must stop at all.

const of = (file: string, id: string, what: string, text: string, instead: string): Mutation => ({
  id,
  what,
  file,
  text,
  instead,
});

export const BUILDER_MUTATIONS: readonly Mutation[] = [
  of(
    'procedure/closure.ts',
    'stop-order-swapped',
    'stops in the reverse order',
    'ROLES[a.equipment.role].stopRank - ROLES[b.equipment.role].stopRank',
    'ROLES[b.equipment.role].stopRank - ROLES[a.equipment.role].stopRank',
  ),
  of(
    'procedure/closure.ts',
    'start-order-swapped',
    'starts in the reverse order',
    'ROLES[a.equipment.role].startRank - ROLES[b.equipment.role].startRank',
    'ROLES[b.equipment.role].startRank - ROLES[a.equipment.role].startRank',
  ),
  of(
    'procedure/closure.ts',
    'adders-stay-on',
    'leaves on what adds water while the level moves',
    '    if (need) out.set(equipment.id,',
    "    if (need && effect !== 'sump-level') out.set(equipment.id,",
  ),
  of(
    'procedure/restore.ts',
    'hand-back-early',
    'gives equipment to its driver before it is on',
    '  steps.push({ ...onStep(equipment, draft), id });',
    '  steps.push(...handBack(course, equipment), { ...onStep(equipment, draft), id });',
  ),
  of(
    'procedure/restore.ts',
    'no-wait-for-flow',
    'starts without the wait after what it needs',
    '  const wait = role.startWait;\n  if (!wait) return [];',
    '  const wait = role.startWait;\n  if (wait?.rule !== undefined || !wait) return [];',
  ),
  of(
    'procedure/down.ts',
    'no-rest-before-stop',
    'stops the return without the heater’s and the skimmer’s rest',
    '    if (!need || !role.stopWait) return [];',
    '    if (need || !role.stopWait) return [];',
  ),
  of('rules/roles.ts', 'top-off-first', 'brings the top-off back first', '    startRank: 99,', '    startRank: 0,'),
];
