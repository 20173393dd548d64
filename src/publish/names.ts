import type { EntityId, Measure, PartId } from '../model/index.ts';

/** Ids of ours may be kebab-case or have spaces; the hub takes lower-case letters, digits and underscores. */
export const snake = (text: string): string =>
  text
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '_')
    .replace(/^_+|_+$/g, '');

/** Entities we keep in the hub. All names are made here, so that states, dashboard and flows agree. */
export const entityNames = (prefix: string) => {
  const own = snake(prefix);
  return {
    /** Its absence tells that the hub restarted; its `seen_at` that we are alive. */
    service: `sensor.${own}_service`,
    due: `sensor.${own}_due`,
    session: `sensor.${own}_session`,
    /** For other automations to respect: hands may be in the water, leave the equipment alone. */
    inProgress: `binary_sensor.${own}_service_in_progress`,
    /** On while a person's confirmation is awaited. */
    asking: `binary_sensor.${own}_confirmation_awaited`,
    /** On while that confirmation takes a value that is typed. */
    valueAwaited: `binary_sensor.${own}_value_awaited`,
    /** On while something needs a person: a latched guard, what was left off, what did not come back. */
    attention: `binary_sensor.${own}_attention`,
    standing: (part: PartId): EntityId => `sensor.${own}_${snake(part)}_standing`,
    usage: (part: PartId, measure: Measure): EntityId => `sensor.${own}_${snake(part)}_${snake(measure)}`,
  } as const;
};

/** "slackwater" → "Slackwater", "reef-two" → "Reef two": what display names begin with. */
export const titleOf = (prefix: string): string => {
  const words = snake(prefix).replace(/_/g, ' ');
  return words.charAt(0).toUpperCase() + words.slice(1);
};
