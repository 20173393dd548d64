import { HOUR_MS, MINUTE_MS, SECOND_MS } from '../units/index.ts';
import { CALCULATED, COMMON_PRACTICE, SOURCES } from './sources.ts';
import type { Rule, RuleId, RuleSetting } from './types.ts';

const ms = (value: number, min: number, max: number, why: string): RuleSetting => ({
  default: value,
  min,
  max,
  unit: 'ms',
  why,
});
const minutes = (value: number, min: number, max: number, why: string): RuleSetting =>
  ms(value * MINUTE_MS, min * MINUTE_MS, max * MINUTE_MS, why);
const seconds = (value: number, min: number, max: number, why: string): RuleSetting =>
  ms(value * SECOND_MS, min * SECOND_MS, max * SECOND_MS, why);
const hours = (value: number, min: number, max: number, why: string): RuleSetting =>
  ms(value * HOUR_MS, min * HOUR_MS, max * HOUR_MS, why);
const amount = (unit: RuleSetting['unit'], value: number, min: number, max: number, why: string): RuleSetting => ({
  default: value,
  min,
  max,
  unit,
  why,
});

/** Rules on stopping, keeping stopped and starting equipment. */
export const ORDER_RULES = {
  K1: {
    title: 'Adders off before the sump level moves',
    why: 'A level that is low only for now looks like evaporation, and the top-off would fill it with fresh water.',
    settings: {},
    marks: [COMMON_PRACTICE, SOURCES.floatJams],
  },
  K2: {
    title: 'A high level latches every adder off',
    why: 'Water where it must never be is stopped first and explained later; only a person clears it. Wire it locally too.',
    settings: { reactMs: seconds(3, 1, 10, 'from the wet float to the adders off') },
    marks: [COMMON_PRACTICE],
  },
  K3: {
    title: 'Run limit and daily cap of the top-off',
    why: 'A stuck float then makes a nuisance instead of a flood.',
    settings: {
      runFactor: amount('factor', 3, 1.5, 5, 'times the median run'),
      runMaxMs: minutes(5, 1, 10, 'never longer than this in one run'),
      dayFactor: amount('factor', 2, 1.5, 3, 'times the 30-day median of litres a day'),
    },
    marks: [SOURCES.floatJams],
  },
  K4: {
    title: 'Heater off, then cool, before it can be uncovered',
    why: 'Hot glass out of water scorches and cracks; it cools while the return still runs.',
    settings: { waitMs: minutes(15, 10, 30, 'cooling before the level around it falls') },
    marks: [SOURCES.heaterDry, SOURCES.heaterOut, SOURCES.heaterCools],
  },
  K5: {
    title: 'Heater on only immersed, with proved flow and a temperature to believe',
    why: 'Heating dry, still or blind water ruins the heater or the tank.',
    settings: {
      flowMs: minutes(2, 1, 5, 'flow proved this long first'),
      probeGapC: amount('C', 0.7, 0.5, 1, 'two probes may differ by this much'),
    },
    marks: [COMMON_PRACTICE],
  },
  K6: {
    title: 'A new or lifted heater soaks unpowered',
    why: 'Glass brought to the water’s temperature does not crack from the shock.',
    settings: { soakMs: minutes(20, 15, 30, 'in the water before power') },
    marks: [SOURCES.heaterCools],
  },
  K7: {
    title: 'Skimmer off before the return stops',
    why: 'A rising sump floods a running skimmer’s cup.',
    settings: {
      waitMs: seconds(60, 30, 180, 'foam falls before the level moves'),
      foamMs: seconds(120, 60, 300, 'foam falls before the body is lifted'),
    },
    marks: [COMMON_PRACTICE],
  },
  K8: {
    title: 'Skimmer on only with a steady level',
    why: 'A level still moving after the return’s start floods the cup and fills it with bubbles.',
    settings: {
      waitMs: minutes(10, 5, 30, 'after the return’s start'),
      serviceSteadyMs: minutes(5, 2, 15, 'level steady before a serviced skimmer starts'),
    },
    marks: [COMMON_PRACTICE],
  },
  K9: {
    title: 'After the return’s stop the level must come to rest within its learned rise',
    why: 'A rise beyond the learned one means a blocked siphon hole or a stuck valve: the display is emptying.',
    settings: {
      settleMs: minutes(3, 2, 10, 'to come to rest'),
      riseShare: amount('share', 0.2, 0.1, 0.3, 'over the learned rise before the alarm'),
      steadyForMs: minutes(2, 1, 5, 'steady means this long'),
      steadyBandCm: amount('cm', 0.5, 0.3, 1, 'steady means within plus or minus this'),
    },
    marks: [SOURCES.siphonBreak, SOURCES.drainDown],
  },
  K10: {
    title: 'No return stop without room in the sump',
    why: 'What drains from the display must fit, with a margin; a sump kept more than three quarters full has none.',
    settings: { factor: amount('factor', 1.2, 1.1, 1.5, 'free volume over the learned drain-down') },
    marks: [SOURCES.sumpRoom, CALCULATED],
  },
  K11: {
    title: 'UV off before its flow stops, on only with flow',
    why: 'A lit lamp in still water overheats its sleeve, and an open housing burns eyes.',
    settings: {
      offMs: minutes(5, 2, 10, 'cooling with flow before the flow stops'),
      onMs: minutes(2, 1, 5, 'flow before the lamp'),
    },
    marks: [COMMON_PRACTICE, SOURCES.uvEyes],
  },
  K12: {
    title: 'CO2 off before its pump, on after it',
    why: 'Gas without flow collects as acid and arrives in one slug.',
    settings: { waitMs: minutes(5, 2, 10, 'between gas and pump') },
    marks: [SOURCES.carbonDioxide],
  },
  K13: {
    title: 'A closed wet vessel without flow goes foul',
    why: 'Media and weed use up the oxygen of standing water; after the limit a person empties it before the restart.',
    settings: {
      mediaMs: hours(6, 2, 12, 'media reactor'),
      algaeMs: hours(2, 1, 4, 'algae reactor'),
    },
    marks: [COMMON_PRACTICE],
  },
  K14: {
    title: 'Chiller only with flow, and not again at once',
    why: 'Without flow the exchanger freezes; a compressor started against pressure wears out.',
    settings: { restartMs: minutes(5, 3, 10, 'flow and rest before the restart') },
    marks: [SOURCES.chiller],
  },
  K15: {
    title: 'No dosing while the return is off',
    why: 'A dose without flow stays in one place; missed doses are skipped, never caught up.',
    settings: {
      afterMs: minutes(10, 5, 30, 'after the return’s start'),
      apartMs: minutes(30, 15, 60, 'between carbonate and calcium'),
    },
    marks: [SOURCES.limewater, COMMON_PRACTICE],
  },
  K16: {
    title: 'One proved water mover stays on',
    why: 'Without any water movement coral and fish run out of oxygen, sooner at night.',
    settings: {
      warnMs: minutes(15, 5, 30, 'all movers off: warn'),
      alarmMs: minutes(30, 10, 45, 'all movers off: alarm'),
      hardMs: minutes(60, 20, 60, 'all movers off: hard limit'),
      darkFactor: amount('factor', 0.5, 0.25, 0.5, 'times these in the dark or with heavy stock'),
    },
    marks: [SOURCES.coralFlow, SOURCES.coralLowOxygen, SOURCES.powerCut],
  },
  K17: {
    title: 'What a person claims is never energised',
    why: 'Hands are in the water; only that person or the named deputy gives it back.',
    settings: { remindMs: minutes(30, 10, 60, 'reminder of a standing claim; it never expires') },
    marks: [SOURCES.lockout],
  },
  K18: {
    title: 'Proved off: relay, fresh watts, effect',
    why: 'A stale reading or a welded relay looks like off; a load that idles at zero proves nothing.',
    settings: {
      readings: amount('count', 3, 2, 10, 'fresh readings in a row'),
      spanMs: seconds(10, 5, 60, 'over at least this long'),
      wattsMax: amount('W', 2, 1, 2, 'never counted as off above this'),
      wattsShare: amount('share', 0.05, 0.01, 0.05, 'of normal watts, at least 1 W'),
    },
    marks: [SOURCES.meterError, COMMON_PRACTICE],
  },
  K19: {
    title: 'Proved on: watts in their learned window, and the effect',
    why: 'A closed relay is not a turning pump.',
    settings: {
      tolerance: amount('share', 0.15, 0.1, 0.25, 'around normal watts'),
      forMs: seconds(60, 30, 180, 'held this long'),
      retries: amount('count', 2, 0, 2, 'then a person is called'),
    },
    marks: [SOURCES.dryRunWatts, COMMON_PRACTICE],
  },
  K20: {
    title: 'An old reading is unknown',
    why: 'Unknown is never off and never fine.',
    settings: { maxAgeMs: seconds(120, 30, 300, 'older than this is unknown') },
    marks: [COMMON_PRACTICE],
  },
  K21: {
    title: 'Hub lost: stand still, read again, ask',
    why: 'The world moved on while nobody looked.',
    settings: { gapMs: seconds(60, 30, 300, 'a longer gap needs a person’s word to go on') },
    marks: [COMMON_PRACTICE],
  },
  K22: {
    title: 'Restore order, one start at a time',
    why: 'Each start needs what the one before gives; single starts keep the inrush small and the signatures clear.',
    settings: { staggerMs: seconds(10, 5, 30, 'between two starts') },
    marks: [COMMON_PRACTICE, SOURCES.inrush],
  },
  K23: {
    title: 'Top-off last, with the level at its mark',
    why: 'Otherwise it replaces lost salt water with fresh.',
    settings: {
      waitMs: minutes(20, 10, 60, 'after the return’s start'),
      markCm: amount('cm', 0.5, 0.3, 1, 'around the level from before the session'),
    },
    marks: [COMMON_PRACTICE],
  },
  K30: {
    title: '“May be unplugged” only when proved off',
    why: 'The word is a promise; afterwards any watts on that plug mean it was the wrong cord or it came back.',
    settings: {
      wattsMax: amount('W', 2, 1, 2, 'above this after unplugging is an alarm'),
      forMs: seconds(2, 1, 5, 'held this long'),
      wrongCordMs: seconds(30, 10, 60, 'another load vanishing this near asks “wrong cord?”'),
    },
    marks: [SOURCES.lockout, COMMON_PRACTICE],
  },
  K31: {
    title: 'Start-up setting of each plug',
    why: 'Life support comes back by itself with the hub dead; whatever comes back by itself must really be unplugged.',
    settings: {},
    marks: [SOURCES.startUpSetting, COMMON_PRACTICE],
  },
  K32: {
    title: 'Never two of a pair in service at once',
    why: 'The other one is the spare path.',
    settings: {},
    marks: [COMMON_PRACTICE],
  },
  K33: {
    title: 'Long stops only in the light',
    why: 'Coral lives through the dark on the oxygen that flow brings.',
    settings: { marginMs: minutes(60, 30, 120, 'before lights-out') },
    marks: [SOURCES.coralFlow],
  },
  K34: {
    title: 'Stop order',
    why: 'No stop may endanger what still runs: adders, dosers, skimmer, heat, UV, reactors, return, circulation last.',
    settings: {},
    marks: [COMMON_PRACTICE],
  },
  K35: {
    title: 'A step that is not proved stops the run where it stands',
    why: 'The plant is not as it was thought to be; a person looks before anything else moves.',
    settings: {
      retries: amount('count', 1, 0, 1, 'then a person is called'),
      answerMs: minutes(10, 2, 60, 'a plan nobody confirms ends after this'),
      pauseMs: minutes(30, 5, 60, 'a short pause ends itself after this'),
    },
    marks: [COMMON_PRACTICE],
  },
  K36: {
    title: 'No feeding around a stop',
    why: 'Food in still water rots and uses oxygen.',
    settings: {
      beforeMs: minutes(30, 15, 60, 'before a stop'),
      afterMs: minutes(15, 10, 30, 'after flow is back'),
    },
    marks: [COMMON_PRACTICE],
  },
} as const satisfies Partial<Record<RuleId, Rule>>;

/** Rules on lamps, water and leaks. */
export const WATER_RULES = {
  K24: {
    title: 'Lamps are touched only off, cool and unplugged; a new set starts dimmed',
    why: 'Hot glass burns hands, and full new light bleaches coral.',
    settings: {
      coolMs: minutes(15, 10, 30, 'cooling'),
      startShare: amount('share', 0.6, 0.5, 0.7, 'of the hours on the first day'),
      rampMs: hours(18 * 24, 7 * 24, 28 * 24, 'until full hours'),
    },
    marks: [
      SOURCES.newLampShock,
      SOURCES.coralLighting,
      SOURCES.newLightSlowly,
      SOURCES.coralAdjusts,
      SOURCES.coralAdjustsFull,
      SOURCES.coralSymbionts,
    ],
  },
  K25: {
    title: 'New membrane or resin: water to waste first',
    why: 'Preservative and fines must not reach the store.',
    settings: {
      flushMs: minutes(60, 30, 120, 'flush'),
      resinFlushMs: minutes(10, 5, 20, 'flush of new resin'),
      productMgL: amount('mg/L', 1, 0, 2, 'product must be at or below'),
    },
    marks: [SOURCES.carbonFines, COMMON_PRACTICE],
  },
  K26: {
    title: 'Barrel heater only with water and mixing',
    why: 'Dry it burns, unmixed it makes a hot layer.',
    settings: { mixFirstMs: minutes(1, 1, 5, 'mixing before heat') },
    marks: [SOURCES.heaterDry],
  },
  K27: {
    title: 'A batch is released only when it matches',
    why: 'Steps of temperature, salt or alkalinity are what hurts in a water change.',
    settings: {
      temperatureC: amount('C', 1, 0.5, 2, 'difference to the tank'),
      salinityPpt: amount('ppt', 0.5, 0.3, 1, 'difference to the tank'),
      ageMs: hours(4, 1, 24, 'mixed this long'),
      alkalinityDkh: amount('dKH', 1, 0.5, 1.4, 'step in the tank'),
      mixedMs: minutes(5, 3, 15, 'going round before the tank is measured again'),
    },
    marks: [SOURCES.waterChange, SOURCES.seawaterFacts, COMMON_PRACTICE],
  },
  K28: {
    title: 'Litres out equal litres in, never below the lowest device',
    why: 'A pump or heater runs dry, or the salt drifts.',
    settings: { differenceL: amount('L', 2, 1, 5, 'between out and in') },
    marks: [COMMON_PRACTICE],
  },
  K29: {
    title: 'Leak: adders off at once, the return only by reason',
    why: 'Stopping the return pours the drain-down on top of some leaks.',
    settings: {
      reactMs: seconds(5, 1, 15, 'adders off'),
      dryMs: minutes(10, 5, 30, 'dry before anything comes back'),
    },
    marks: [CALCULATED],
  },
} as const satisfies Partial<Record<RuleId, Rule>>;
