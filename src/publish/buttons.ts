import type { Equipment, PartId, Tank } from '../model/index.ts';
import { whyNotRun } from '../procedure/acclimation/index.ts';
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
  | { readonly kind: 'later'; readonly part: string }
  /** Gives the light of a lamp to the service for the weeks after new lamps, or back to its driver. */
  | { readonly kind: 'light-start'; readonly lamp: string }
  | { readonly kind: 'light-stop'; readonly lamp: string };

export const buttonNames = {
  start: (procedure: string): string => `start:${procedure}`,
  confirm: 'confirm',
  abort: 'abort',
  /** Where the value of a step that asks for one is typed. */
  value: 'value',
  done: (part: string): string => `done:${part}`,
  later: (part: string): string => `later:${part}`,
  lightStart: (lamp: string): string => `light-start:${lamp}`,
  lightStop: (lamp: string): string => `light-stop:${lamp}`,
} as const;

/** What a press of one of our buttons asks for; null for anything else. */
export const meaningOf = (button: string): ButtonMeaning | null => {
  if (button === 'confirm' || button === 'abort') return { kind: button };
  const [kind = '', ...rest] = button.split(':');
  const of = rest.join(':');
  if (of === '') return null;
  if (kind === 'start') return { kind, procedure: of };
  if (kind === 'done' || kind === 'later') return { kind, part: of };
  if (kind === 'light-start' || kind === 'light-stop') return { kind, lamp: of };
  return null;
};

/** Lamps whose light the service can run. */
export const lampsToRun = (tank: Tank): readonly Equipment[] => tank.equipment.filter((one) => whyNotRun(one) === null);

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
    ...lampsToRun(tank).flatMap(({ id, name }) => [
      { button: buttonNames.lightStart(id), name: `${title} new lamps ${name}`, icon: 'mdi:brightness-6' },
      { button: buttonNames.lightStop(id), name: `${title} usual light ${name}`, icon: 'mdi:brightness-7' },
    ]),
  ];
};
