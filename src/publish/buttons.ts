import type { PartId, Tank } from '../model/index.ts';
import { titleOf } from './names.ts';

/** A helper button to be kept in the hub. */
export type ButtonShown = {
  readonly button: string;
  readonly name: string;
  readonly icon: string;
  /** Typed into, not pressed. */
  readonly isField?: boolean;
};

export type ProcedureShown = {
  readonly id: string;
  readonly title: string;
  readonly occasion: 'routine' | 'rare' | 'emergency';
  /** What it serves: where one of these is due, so is the procedure. */
  readonly parts: readonly PartId[];
};

export type ButtonMeaning =
  | { readonly kind: 'start'; readonly procedure: string }
  | { readonly kind: 'confirm' }
  | { readonly kind: 'abort' }
  | { readonly kind: 'done'; readonly part: string }
  | { readonly kind: 'later'; readonly part: string };

export const buttonNames = {
  start: (procedure: string): string => `start:${procedure}`,
  confirm: 'confirm',
  abort: 'abort',
  /** Where the value of a step that asks for one is typed. */
  value: 'value',
  done: (part: string): string => `done:${part}`,
  later: (part: string): string => `later:${part}`,
} as const;

/** What a press of one of our buttons asks for; null for anything else. */
export const meaningOf = (button: string): ButtonMeaning | null => {
  if (button === 'confirm' || button === 'abort') return { kind: button };
  const [kind = '', ...rest] = button.split(':');
  const of = rest.join(':');
  if (of === '') return null;
  if (kind === 'start') return { kind, procedure: of };
  if (kind === 'done' || kind === 'later') return { kind, part: of };
  return null;
};

/** Display names begin with ours, so that they are told apart from the home's own helpers. */
export const buttonDefs = (
  tank: Tank,
  procedures: readonly Pick<ProcedureShown, 'id' | 'title'>[],
  prefix: string,
): readonly ButtonShown[] => {
  const title = titleOf(prefix);
  const lower = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);
  return [
    ...procedures.map((procedure) => ({
      button: buttonNames.start(procedure.id),
      name: `${title} start ${lower(procedure.title)}`,
      icon: 'mdi:play-circle-outline',
    })),
    { button: buttonNames.confirm, name: `${title} confirm`, icon: 'mdi:gesture-tap-button' },
    { button: buttonNames.value, name: `${title} value`, icon: 'mdi:form-textbox', isField: true },
    { button: buttonNames.abort, name: `${title} abort`, icon: 'mdi:stop-circle-outline' },
    ...tank.parts.flatMap((part) => [
      { button: buttonNames.done(part.id), name: `${title} done ${part.name}`, icon: 'mdi:check-bold' },
      { button: buttonNames.later(part.id), name: `${title} later ${part.name}`, icon: 'mdi:calendar-arrow-right' },
    ]),
  ];
};
