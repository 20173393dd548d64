import type { Equipment, Sensor } from '../model/index.ts';
import { cautionTexts, type ItemAmount, type ItemReading, ruleSetting, type WorkItem } from '../rules/index.ts';
import { MINUTE_MS } from '../units/index.ts';
import { type Course, type Draft, handledOf, isOff, lookStep, plainStep, stepId } from './draft.ts';
import type { Step, StepObservation, StepReading } from './types.ts';

/** What an item is about: the equipment in hand or started, and one piece of it. */
type About = { readonly equipment?: Equipment; readonly n?: number; readonly of?: number };

/** One item of a procedure as steps of this tank. A sensor that is not there is replaced by a person's eyes. */
export function itemSteps(course: Course, item: WorkItem, about: About = {}): readonly Step[] {
  switch (item.does) {
    case 'wait':
      return [waitItem(course, item)];
    case 'reading':
      return [readingItem(course, item, about)];
    case 'observe':
      return observeItem(course, item, about);
    default:
      return [personItem(course, item, about)];
  }
}

const filled = (text: string, about: About): string =>
  text
    .replaceAll('{name}', about.equipment?.name ?? 'it')
    .replaceAll('{n}', String(about.n ?? 1))
    .replaceAll('{of}', String(about.of ?? 1));

function idOf(course: Course, prefix: string, item: WorkItem, about: About, perEquipment: boolean): string {
  const of = perEquipment && about.equipment ? `:${about.equipment.id}` : '';
  const piece = about.n === undefined ? '' : `:${about.n}`;
  return stepId(course, `${prefix}:${item.id}${of}${piece}`);
}

const isPerEquipment = (item: WorkItem): boolean => item.text.includes('{name}');

function basics(course: Course, prefix: string, item: WorkItem, about: About, action: Step['action']) {
  const handled = handledOf(course.draft).length > 0;
  return {
    id: idOf(course, prefix, item, about, isPerEquipment(item)),
    action,
    rule: item.rule ?? (handled ? 'K17' : 'K35'),
    why: item.why ?? (handled ? 'The work itself, on claimed equipment.' : 'A person does it and says so.'),
    text: filled(item.text, about),
  };
}

/** Hands at work, or a look: a person answers. */
function personItem(course: Course, item: WorkItem, about: About): Step {
  const { draft } = course;
  const looks = item.does === 'look' || item.does === 'observe';
  const handled = handledOf(draft).length > 0;
  const ends = draft.def.endsAfter;
  const endsMs = ends && !looks ? ruleSetting(draft.overrides, ends.rule, ends.setting) : undefined;
  const made = basics(course, looks ? 'look' : 'hands-on', item, about, looks ? 'check' : 'hands-on');
  const always = looks ? [] : handled ? ['shock', 'not-isolation'] : ['shock'];
  return lookStep(
    {
      ...made,
      ...(endsMs === undefined
        ? {}
        : {
            why: 'The pause itself.',
            text: `${made.text} It ends by itself after ${Math.round(endsMs / MINUTE_MS)} min, as agreed at the start.`,
          }),
    },
    draft.overrides,
    {
      ...(looks ? {} : { safeState: 'stay-off' }),
      ...(item.minutes === undefined ? {} : { personMs: item.minutes * MINUTE_MS }),
      ...(about.equipment && isPerEquipment(item) ? { equipment: about.equipment.id } : {}),
      cautions: cautionTexts([...always, ...item.cautions]),
      ...(endsMs === undefined ? {} : { waitMs: endsMs }),
    },
  );
}

function waitItem(course: Course, item: WorkItem): Step {
  const { draft } = course;
  const waitMs = item.wait ? ruleSetting(draft.overrides, item.wait.rule, item.wait.setting) : (item.waitMs ?? 0);
  const from = item.waitFrom === undefined ? undefined : anchorOf(course, item.waitFrom);
  return plainStep(basics(course, 'wait', item, {}, 'wait'), {
    waitMs,
    timeoutMs: waitMs,
    ...(from === undefined ? {} : { waitFrom: from }),
    cautions: cautionTexts(item.cautions),
  });
}

/** An item counts from a step by its plain name; on the tank that step may carry the equipment's name or be a second one. */
function anchorOf(course: Course, from: string): string | undefined {
  const [kind = '', role = '', nth] = from.split(':');
  if (kind === 'on') {
    const equipment = handledOf(course.draft).find((each) => each.role === role);
    const id = equipment === undefined ? undefined : `on:${equipment.id}${nth === undefined ? '' : `:${nth}`}`;
    return course.steps.find((step) => step.id === id)?.id;
  }
  return course.steps.findLast((step) => step.id === from || step.id.startsWith(`${from}:`))?.id;
}

function amount(draft: Draft, wanted: ItemAmount): number {
  if (typeof wanted === 'number') return wanted;
  if ('shareOfVolume' in wanted) return Math.round(draft.tank.volumeL * wanted.shareOfVolume);
  const value = ruleSetting(draft.overrides, wanted.rule, wanted.setting);
  const own = wanted.setting.endsWith('Ms') ? value / (60 * MINUTE_MS) : value;
  return own / (wanted.inShare ?? 1);
}

function readingOf(course: Course, wanted: ItemReading): StepReading {
  const { draft } = course;
  const entity = sensorOf(draft, wanted.sensor)?.entity;
  const sameAs = wanted.sameAs === undefined ? undefined : `reading:${wanted.sameAs}`;
  return {
    quantity: wanted.quantity,
    ...(wanted.low === undefined ? {} : { low: amount(draft, wanted.low) }),
    ...(wanted.high === undefined ? {} : { high: amount(draft, wanted.high) }),
    ...(sameAs === undefined ? {} : { sameAs }),
    ...(wanted.tolerance === undefined ? {} : { tolerance: amount(draft, wanted.tolerance) }),
    ...(entity === undefined ? {} : { entity }),
  };
}

const sensorOf = (draft: Draft, kind: Sensor['kind'] | undefined): Sensor | undefined =>
  draft.tank.sensors.find((sensor) => sensor.kind === kind);

function readingItem(course: Course, item: WorkItem, about: About): Step {
  return lookStep(basics(course, 'reading', item, about, 'reading'), course.draft.overrides, {
    ...(item.reading ? { reading: readingOf(course, item.reading) } : {}),
    ...(item.minutes === undefined ? {} : { personMs: item.minutes * MINUTE_MS }),
    ...(about.equipment && isPerEquipment(item) ? { equipment: about.equipment.id } : {}),
    cautions: cautionTexts(item.cautions),
  });
}

/** One step for each sensor of the kind: every leak sensor must be dry, every low float must answer. */
function observeItem(course: Course, item: WorkItem, about: About): readonly Step[] {
  const { draft } = course;
  const { observe } = item;
  if (!observe) return [];
  const seen = observe.sensor === 'power' ? powerSeen(item, about) : floatsSeen(draft, item);
  if (seen.length === 0) return [personItem(course, item, about)];
  return seen.map(({ name, observation }) => {
    const made = basics(course, 'observe', item, about, 'observe');
    return plainStep(
      { ...made, text: seen.length > 1 ? `${made.text} (${name})` : made.text },
      {
        needed: 4,
        observe: observation,
        timeoutMs: observe.withinMs,
        ...(item.minutes === undefined ? {} : { personMs: item.minutes * MINUTE_MS }),
        ...(about.equipment ? { equipment: about.equipment.id } : {}),
        cautions: cautionTexts(item.cautions),
      },
    );
  });
}

type Seen = { readonly name: string; readonly observation: StepObservation };

function powerSeen(item: WorkItem, { equipment }: About): readonly Seen[] {
  const { observe } = item;
  if (!observe || equipment?.powerEntity === undefined || equipment.normalPowerW === undefined) return [];
  const value = Math.round(equipment.normalPowerW * (observe.share ?? 1) * 10) / 10;
  return [{ name: equipment.name, observation: { entity: equipment.powerEntity, is: observe.is, value } }];
}

function floatsSeen(draft: Draft, item: WorkItem): readonly Seen[] {
  const { observe } = item;
  return draft.tank.sensors
    .filter((sensor) => sensor.kind === observe?.sensor)
    .map((sensor) => ({
      name: sensor.name,
      observation: {
        entity: sensor.entity,
        is: observe?.is ?? 'on',
        ...(observe?.times === undefined ? {} : { times: observe.times }),
      },
    }));
}

/** Items of the procedures of the plan that stand before or after the start of this equipment. */
export function startItems(course: Course, equipment: Equipment, place: 'beforeStart' | 'afterStart'): readonly Step[] {
  return course.draft.jobs.flatMap((job) => {
    // A composition's own items and those of a job that has this equipment; of a job without hands, every start of the role.
    const concerns = job.handled.length === 0 || job.handled.some((each) => each.id === equipment.id);
    if (!concerns) return [];
    const items = (job.def[place] ?? []).filter((item) => item.role === equipment.role);
    return items.flatMap((item) => itemSteps(course, item, { equipment }));
  });
}

/** K13: after a long stop somebody says what became of the standing water of a closed vessel, before it starts again. */
export function emptiedSteps(course: Course, equipment: Equipment): readonly Step[] {
  const { draft } = course;
  const setting =
    equipment.role === 'algae-reactor' ? 'algaeMs' : equipment.role === 'media-reactor' ? 'mediaMs' : null;
  if (setting === null || draft.def.long !== true || !isOff(course, equipment)) return [];
  const hours = ruleSetting(draft.overrides, 'K13', setting) / (60 * MINUTE_MS);
  const item: WorkItem = {
    id: 'emptied',
    does: 'look',
    rule: 'K13',
    why: 'Water that stands in a closed vessel uses up its oxygen and goes foul.',
    text: `Has the water in {name} stood without flow for more than ${hours} h? Then throw it away before it goes on, and put salt water back. Confirm when there is no old water in it.`,
    cautions: [],
    minutes: 2,
  };
  return itemSteps(course, item, { equipment });
}

/** K5: where no sensor tells the level after water was moved, somebody sees that the heater is under it. */
export function immersedSteps(course: Course, equipment: Equipment): readonly Step[] {
  const { draft } = course;
  const moved = draft.def.long === true || draft.def.levelUnknown === true;
  const told = draft.level !== undefined && equipment.inSump;
  if (equipment.role !== 'heater' || !moved || told || !isOff(course, equipment)) return [];
  const item: WorkItem = {
    id: 'immersed',
    does: 'look',
    rule: 'K5',
    why: 'A heater that is not under water overheats and cracks, and no sensor tells it here.',
    text: 'Look: is {name} fully under water, and does the water move around it?',
    cautions: [],
    minutes: 1,
  };
  return itemSteps(course, item, { equipment });
}
