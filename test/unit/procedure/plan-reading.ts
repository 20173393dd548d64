import assert from 'node:assert/strict';
import type { Part, Tank } from '../../../src/model/index.ts';
import type { SessionPlan, Step } from '../../../src/procedure/index.ts';
import { reef, sensor } from './tanks.ts';

export const MINUTE = 60_000;
const tubes = (bank: string, pieces: number): Part => ({
  id: `${bank}-tubes`,
  name: `tubes of ${bank}`,
  kind: 'fluorescent-tubes',
  equipment: bank,
  pieces,
  limits: [],
  safety: false,
  usageFrom: {},
  usedBefore: {},
});
export const full = (): Tank => {
  const tank = reef();
  return {
    ...tank,
    parts: [tubes('lamp', 3)],
    sensors: [
      ...tank.sensors,
      sensor('low', 'low-float'),
      sensor('high', 'high-float'),
      sensor('product', 'product-tds'),
      sensor('salinity', 'salinity'),
    ],
  };
};
export const at = (plan: SessionPlan, id: string): number => {
  const index = plan.steps.findIndex((step) => step.id === id || step.id.startsWith(`${id}:`));
  assert.ok(index >= 0, `no step ${id} among ${plan.steps.map((step) => step.id).join(' ')}`);
  return index;
};
export const stepOf = (plan: SessionPlan, id: string): Step => plan.steps[at(plan, id)] as Step;
export const inThisOrder = (plan: SessionPlan, ...ids: string[]): void => {
  const places = ids.map((id) => at(plan, id));
  assert.deepEqual(
    places,
    places.toSorted((a, b) => a - b),
    ids.join(' → '),
  );
};
