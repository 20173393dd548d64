import { resolve } from 'node:path';
import { didYouMean, listWords, problem } from '../errors/index.ts';
import {
  DISPLAY_LAMPS,
  type Driver,
  type Equipment,
  type Person,
  type Sensor,
  type Sump,
  type Tank,
} from '../model/index.ts';
import { ROLES } from '../rules/index.ts';
import { buildAlarms } from './build-alarms.ts';
import { type BuildContext, optional, sentenceName } from './build-context.ts';
import { buildCounters } from './build-counters.ts';
import { buildGuards } from './build-guards.ts';
import { buildParts } from './build-parts.ts';
import type { Written } from './schema.ts';
import { ruleOverrides } from './schema-rules.ts';
import type { AccessEntry, Config } from './types.ts';

export function buildConfig(context: BuildContext): Config {
  const { written, folder } = context;
  const people = Object.entries(written.people);
  const equipment = buildEquipment(context);
  const counters = buildCounters(context);
  const sensors = buildSensors(written);
  const sump = buildSump(context);
  const tank: Tank = {
    name: written.tank.name,
    timeZone: written.tank.zone,
    volumeL: written.tank.volume,
    ...(sump === null ? {} : { sump }),
    ...optional({ lights: written.tank.lights }),
    equipment,
    sensors,
    parts: buildParts(context, equipment, counters),
    counters,
    people: people.map(([, each]) => ({ name: each.name, ...optional({ hubUserId: each.hubUser }) }) satisfies Person),
    notifyServices: written.reminders.notify,
  };
  return {
    tank,
    hub: { url: written.hub.url, token: buildToken(context) },
    storeFile: resolve(folder, written.store),
    api: written.api,
    access: buildAccess(context),
    reminders: {
      nearShare: written.reminders.near,
      nearMs: written.reminders.nearTime,
      laterMs: written.reminders.later,
    },
    guards: buildGuards(context, equipment, sensors),
    alarms: buildAlarms(context),
    rules: ruleOverrides(written.rules),
    deputies: buildDeputies(context),
    prefix: written.prefix,
  };
}

function buildEquipment({ written, findings, warnings }: BuildContext): Equipment[] {
  const ownerOf = new Map<string, string>();
  return Object.entries(written.equipment).map(([id, each]) => {
    const role = ROLES[each.role];
    for (const key of ['switch', 'power'] as const) {
      const entity = each[key];
      if (entity === undefined) continue;
      const owner = ownerOf.get(entity);
      if (owner !== undefined) {
        const conflict = `${entity} already belongs to ${owner}`;
        const hint = 'A plug has one equipment, else a claim on one would leave the other free to switch it.';
        findings.add(['equipment', id, key], 'value', (at, path) =>
          problem('SW-CFG-018', { at, path, conflict, hint }),
        );
      }
      ownerOf.set(entity, id);
    }
    if (typeof each.driver === 'object' && Object.values(each.driver).includes(each.switch ?? '')) {
      const hint = 'Name what decides, such as the automation or the climate entity, not the plug it switches.';
      const conflict = 'the driver is the plug itself';
      findings.add(['equipment', id, 'driver'], 'value', (at, path) =>
        problem('SW-CFG-018', { at, path, conflict, hint }),
      );
    }
    if (each.lit !== undefined && !DISPLAY_LAMPS.includes(each.role)) {
      const hint = `Write it for ${listWords(DISPLAY_LAMPS)} only.`;
      findings.add(['equipment', id, 'lit'], 'value', (at, path) =>
        problem('SW-CFG-018', { at, path, conflict: `a ${role.name} is no lamp over the display`, hint }),
      );
    }
    const name = each.name ?? sentenceName(id);
    if (each.switch === undefined) warnings.push(`${name}: no switch, so a person switches it and says so.`);
    else if (each.power === undefined)
      warnings.push(`${name}: no power reading, so off can be reported but not proven.`);
    else if (each.normalPower === undefined)
      warnings.push(`${name}: normalPower is not given, so "on" is not proven until it is learned.`);
    return {
      id,
      name,
      role: each.role,
      driver: buildDriver(each.driver),
      cycling: each.cycling ?? role.cycling,
      inSump: each.inSump ?? IN_SUMP.has(each.role),
      switchDelayMs: each.switchDelay,
      ...optional({
        switchEntity: each.switch,
        powerEntity: each.power,
        normalPowerW: each.normalPower,
        pair: each.pair,
        quickDisconnect: each.quickDisconnect,
        startUp: each.startUp,
        strip: each.strip,
        circuit: each.circuit,
        place: each.place,
        lit: each.lit,
      }),
    };
  });
}

/** Where these usually stand; the careful guess, since in the sump means more is checked. */
const IN_SUMP: ReadonlySet<string> = new Set(['heater', 'skimmer']);

function buildDriver(driver: Written['equipment'][string]['driver']): Driver {
  if (typeof driver === 'string') return { kind: driver };
  if ('schedule' in driver) return { kind: 'schedule', entity: driver.schedule };
  return { kind: 'thermostat', entity: driver.thermostat };
}

function buildSensors(written: Written): Sensor[] {
  return Object.entries(written.sensors).map(([id, each]) => ({
    id,
    name: each.name ?? sentenceName(id),
    kind: each.kind,
    entity: each.entity,
    maxAgeMs: each.maxAge,
  }));
}

function buildSump({ written, findings, warnings }: BuildContext): Sump | null {
  const sump = written.tank.sump;
  if (sump === undefined) {
    warnings.push('No sump is described, so no step can check that the water of a return stop fits.');
    return null;
  }
  if (sump.normalLevel >= sump.rim) {
    const conflict = `the normal level of ${sump.normalLevel} cm is not below the rim at ${sump.rim} cm`;
    const hint = 'Measure both from the floor of the sump.';
    findings.add(['tank', 'sump', 'normalLevel'], 'value', (at, path) =>
      problem('SW-CFG-018', { at, path, conflict, hint }),
    );
  }
  if (sump.drainDown === undefined)
    warnings.push('drainDown is not given, so a return stop waits for a supervised one.');
  return {
    litresPerCm: sump.litresPerCm,
    normalLevelCm: sump.normalLevel,
    rimLevelCm: sump.rim,
    ...optional({ drainDownL: sump.drainDown }),
  };
}

function buildToken({ written, findings, folder }: BuildContext): Config['hub']['token'] {
  const { env, file } = written.hub.token;
  if (env !== undefined && file === undefined) return { env };
  if (file !== undefined && env === undefined) return { file: resolve(folder, file) };
  findings.add(['hub', 'token'], 'value', (at, path) =>
    env === undefined
      ? problem('SW-CFG-004', {
          at,
          path,
          expected: 'env or file in it',
          example: 'token: { env: SLACKWATER_HUB_TOKEN }',
        })
      : problem('SW-CFG-017', { at, path, found: 'both', expected: 'env, file' }),
  );
  return { env: '' };
}

function buildAccess({ written, ids, findings, folder }: BuildContext): AccessEntry[] {
  return Object.entries(written.access).map(([id, each]) => {
    const tokenFile = resolve(folder, each.tokenFile);
    if (each.kind === 'machine') {
      if (each.person !== undefined) {
        const hint = 'Remove `person`, or make the kind person if somebody logs in with it.';
        findings.add(['access', id, 'person'], 'key', (at, path) =>
          problem('SW-CFG-018', { at, path, conflict: 'a machine stands for no person', hint }),
        );
      }
      return { id, name: id, kind: 'machine', tokenFile };
    }
    const personId = each.person ?? id;
    if (!ids.people.includes(personId)) {
      const where = each.person === undefined ? ['access', id] : ['access', id, 'person'];
      findings.add(where, each.person === undefined ? 'key' : 'value', (at, path) =>
        problem('SW-CFG-009', {
          at,
          path,
          what: 'person',
          found: personId,
          expected: listWords(ids.people),
          hint: didYouMean(personId, ids.people, 'Add the person under `people`, or name one of these with `person`.'),
        }),
      );
    }
    return { id, name: written.people[personId]?.name ?? personId, kind: 'person', tokenFile };
  });
}

function buildDeputies({ written, ids, findings, warnings }: BuildContext): Record<string, string> {
  const deputies: Record<string, string> = {};
  const nameOwner = new Map<string, string>();
  for (const [id, each] of Object.entries(written.people)) {
    const owner = nameOwner.get(each.name);
    if (owner !== undefined) {
      const conflict = `the name "${each.name}" already belongs to ${owner}`;
      const hint = 'Give each person a name of their own: records and claims are told apart by it.';
      findings.add(['people', id, 'name'], 'value', (at, path) => problem('SW-CFG-018', { at, path, conflict, hint }));
    }
    nameOwner.set(each.name, id);
    if (each.deputy === undefined) continue;
    const deputy = each.deputy;
    if (!ids.people.includes(deputy) || deputy === id) {
      const others = ids.people.filter((other) => other !== id);
      findings.add(['people', id, 'deputy'], 'value', (at, path) =>
        problem('SW-CFG-009', {
          at,
          path,
          what: deputy === id ? 'other person' : 'person',
          found: deputy,
          expected: listWords(others),
          hint: didYouMean(deputy, others, 'Name another person of `people`.'),
        }),
      );
      continue;
    }
    deputies[each.name] = written.people[deputy]?.name ?? deputy;
  }
  if (Object.keys(written.people).length === 0) {
    warnings.push('No people are named, so nobody can say "unplugged" or release a claim.');
  }
  return deputies;
}
