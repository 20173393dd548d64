import type { Equipment, EquipmentId, StartUp, Tank } from '../../model/index.ts';
import { ROLES } from '../../rules/index.ts';

/** K31: what each plug does when power comes back, against what its role needs. */

export type AuditWord = 'fine' | 'mismatch' | 'unknown' | 'note';

export type AuditLine = {
  readonly equipment: EquipmentId;
  readonly name: string;
  readonly word: AuditWord;
  readonly expected: 'on' | 'off' | 'any';
  readonly found: StartUp | 'unknown';
  readonly text: string;
};

export type SharedLine = {
  readonly pair: string;
  readonly equipment: readonly EquipmentId[];
  /** Null = nobody told on what they hang. */
  readonly shares: 'strip' | 'circuit' | null;
  readonly name: string;
  readonly text: string;
};

export type Audit = { readonly startUp: readonly AuditLine[]; readonly pairs: readonly SharedLine[] };

export function auditOf(tank: Tank): Audit {
  const plugs = tank.equipment.filter(({ switchEntity }) => switchEntity !== undefined);
  const order: Readonly<Record<AuditWord, number>> = { mismatch: 0, unknown: 1, note: 2, fine: 3 };
  return {
    startUp: plugs.map(auditLine).sort((a, b) => order[a.word] - order[b.word]),
    pairs: pairLines(tank),
  };
}

function auditLine(one: Equipment): AuditLine {
  const expected = ROLES[one.role].startUp;
  const found = one.startUp ?? 'unknown';
  const line = (word: AuditWord, text: string): AuditLine => ({
    ...{ equipment: one.id, name: one.name, word, expected, found },
    text: `${one.name}: ${text}`,
  });
  if (expected === 'any')
    return found === 'on'
      ? line('note', 'comes back by itself: whoever handles it must really unplug it')
      : line('fine', found === 'unknown' ? 'not looked at; either will do' : 'either will do');
  if (found === 'unknown')
    return line('unknown', `nobody has told what its plug does when power comes back; ${wanted(one, expected)}`);
  if (expected === 'on') {
    if (found === 'on') return line('fine', 'comes back by itself, so unplug it before handling');
    const why = found === 'off' ? 'stays off after a power cut' : 'comes back only if it was on before the cut';
    return line(found === 'off' ? 'mismatch' : 'note', `${why}; ${wanted(one, expected)}`);
  }
  if (found === 'off') return line('fine', 'stays off until the service or a person starts it');
  return line('mismatch', `may start by itself after a power cut; ${wanted(one, expected)}`);
}

function wanted(one: Equipment, expected: 'on' | 'off'): string {
  const { name, hazardStarted } = ROLES[one.role];
  return expected === 'on'
    ? `a ${name} is to come back by itself, also with the hub dead`
    : `a ${name} is to stay off. ${hazardStarted}`;
}

/** Two that stand in for one another do not on one strip, or behind one circuit. */
function pairLines(tank: Tank): readonly SharedLine[] {
  const pairs = Map.groupBy(
    tank.equipment.filter(({ pair }) => pair !== undefined),
    ({ pair }) => pair ?? '',
  );
  return [...pairs].flatMap(([pair, members]) => (members.length < 2 ? [] : pairLine(pair, members)));
}

function pairLine(pair: string, members: readonly Equipment[]): readonly SharedLine[] {
  const equipment = members.map(({ id }) => id);
  const names = members.map(({ name }) => name).join(' and ');
  for (const what of ['strip', 'circuit'] as const) {
    const groups = Map.groupBy(members, (one) => one[what]);
    const shared = [...groups].find(([name, group]) => name !== undefined && group.length > 1);
    if (shared?.[0] === undefined) continue;
    const together = shared[1].map(({ name }) => name).join(' and ');
    const text = `${together} (${pair}) hang on one ${what}, ${shared[0]}: what trips it stops both`;
    return [{ pair, equipment: shared[1].map(({ id }) => id), shares: what, name: shared[0], text }];
  }
  if (members.some(({ strip, circuit }) => strip === undefined && circuit === undefined))
    return [
      { pair, equipment, shares: null, name: '', text: `${names} (${pair}): on which strip and circuit is not told` },
    ];
  return [];
}
