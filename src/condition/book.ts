import type { InstantMs } from '../units/index.ts';
import { PARTS_OF } from './setup.ts';
import { type ConditionSetup, type Finding, type FindingKind, type Seen, SURE } from './types.ts';

/** Open findings by kind and equipment. Plain data. */
export type BookMemory = Record<string, Finding>;

export type Book = {
  /** Said anew, or brought up to date. It never gets less sure while it is open. */
  say(seen: Seen, at: InstantMs): void;
  clear(kind: FindingKind, equipment?: string): void;
  open(kind: FindingKind, equipment?: string): Finding | undefined;
  all(): readonly Finding[];
  /** What was opened or became surer since the last call. */
  news(): readonly Finding[];
};

const keyOf = (kind: FindingKind, equipment: string | undefined): string => `${kind} ${equipment ?? ''}`;

export function createBook(setup: ConditionSetup, memory: BookMemory): Book {
  let news: Finding[] = [];
  // Asked every minute of every plug: mostly nothing is open.
  const openKinds = new Set<FindingKind>(Object.values(memory).map((finding) => finding.kind));
  const partsOf = (kind: FindingKind, equipment: string | undefined): string[] => {
    const own = setup.equipment.find((one) => one.id === equipment)?.parts ?? {};
    return PARTS_OF[kind].flatMap((part) => own[part] ?? setup.parts[part] ?? []);
  };
  return {
    say(seen, at) {
      const key = keyOf(seen.kind, seen.equipment);
      const old = memory[key];
      const isSurer = old === undefined || SURE.indexOf(seen.sure) > SURE.indexOf(old.sure);
      const finding: Finding = {
        ...seen,
        sure: isSurer ? seen.sure : old.sure,
        since: Math.min(seen.since, old?.since ?? seen.since),
        saidAt: old?.saidAt ?? at,
        toldAt: isSurer ? at : old.toldAt,
        parts: old?.parts ?? partsOf(seen.kind, seen.equipment),
      };
      memory[key] = finding;
      openKinds.add(seen.kind);
      if (isSurer) news.push(finding);
    },
    clear(kind, equipment) {
      if (!openKinds.has(kind)) return;
      delete memory[keyOf(kind, equipment)];
    },
    open: (kind, equipment) => (openKinds.has(kind) ? memory[keyOf(kind, equipment)] : undefined),
    all: () => Object.values(memory).sort((a, b) => a.saidAt - b.saidAt),
    news() {
      const told = news;
      news = [];
      return told;
    },
  };
}
