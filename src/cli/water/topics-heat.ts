import { problem } from '../../errors/index.ts';
import { parseDuration, parseQuantity, type QuantityKind } from '../../units/index.ts';
import {
  airAtHeightAtm,
  dewPointC,
  EVAPORATION_SOURCE,
  evaporationHeatW,
  evaporationLPerDay,
  HEAT_SOURCE,
  HEATER_SOURCE,
  heaterSize,
  hoursOfOxygen,
  hoursToC,
  learnLoss,
  NIGHT_USE_MG_L_H,
  type Night,
  OXYGEN_CLOCK_SOURCE,
  OXYGEN_LIMITS,
  OXYGEN_SOURCE,
  oxygenSaturationMgL,
  oxygenShare,
  rateCPerH,
  settlesAtC,
  storeWhPerC,
  temperatureAfterC,
  timeConstantH,
  topOffLPerDay,
} from '../../water/index.ts';
import { bounded, DEGREES_AN_HOUR, HOURS, LITRES_A_DAY, PER_CENT, shown } from './amounts.ts';
import type { Given, Result, Shown, Topic, TopicOption } from './types.ts';

const SECOND_MS = 1000;
const HOUR_MS = 3_600_000;
const ML_S_PER_L_H = 1 / 3.6;
const ATM_BAR = 1.01325;

const VOLUME: TopicOption = { name: 'volume', takes: 'volume', help: 'net water of the tank', example: '458 L' };
const ROOM: TopicOption = { name: 'room', takes: 'temperature', help: 'temperature of the room', example: '19.5 °C' };

function evaporation(given: Given): Result {
  const water = { salinityPpt: given.quantity('salinity'), temperatureC: given.quantity('temperature') };
  const [roomC, humidity] = [given.quantity('room'), given.quantity('humidity')];
  const litres = evaporationLPerDay({
    areaM2: given.quantity('area'),
    water,
    roomC,
    humidity,
    airMS: given.quantity('air'),
  });
  const also: Record<string, Shown> = {
    'heat it carries away': shown('power', evaporationHeatW(litres.value, water), 0),
  };
  if (humidity > 0) also['air condenses below'] = shown('temperature', dewPointC(roomC, humidity), 1);
  if (given.has('run') || given.has('pump')) {
    const measured = topOffLPerDay(given.quantity('run') / SECOND_MS, given.quantity('pump') * ML_S_PER_L_H);
    also['topped off'] = shown(LITRES_A_DAY, measured, 2);
    if (litres.value > 0) also['topped off, of the formula'] = shown(PER_CENT, (100 * measured) / litres.value, 0);
  }
  return {
    what: 'Evaporation',
    answer: bounded(LITRES_A_DAY, litres, 2),
    source: EVAPORATION_SOURCE,
    also,
    notes: litres.value === 0 ? ['This air gives water to the tank rather than taking it: nothing evaporates.'] : [],
  };
}

const HEAT_OPTIONS: readonly TopicOption[] = [
  VOLUME,
  { name: 'loss', takes: 'heatLoss', help: 'heat lost for each degree over the room', example: '12 W/°C' },
  ROOM,
  { name: 'tank', takes: 'temperature', help: 'temperature of the tank now', example: '25.5 °C' },
  { name: 'heater', takes: 'power', help: 'all that heats it', example: '200 W', fallback: '0 W' },
  { name: 'for', takes: 'duration', help: 'for how long', example: '8 h', fallback: '1 h' },
  { name: 'target', takes: 'temperature', help: 'also say when it is reached', example: '24.5 °C' },
];

function heat(given: Given): Result {
  const body = {
    volumeL: given.quantity('volume'),
    lossWPerC: given.quantity('loss'),
    roomC: given.quantity('room'),
    heatW: given.quantity('heater'),
  };
  const tank = given.quantity('tank');
  const target = given.maybe('target');
  const hours = target === undefined ? null : hoursToC(body, tank, target);
  return {
    what: 'Temperature then',
    answer: shown('temperature', temperatureAfterC(body, tank, given.quantity('for') / HOUR_MS), 2),
    source: HEAT_SOURCE,
    also: {
      'at first': shown(DEGREES_AN_HOUR, rateCPerH(body, tank), 2),
      'settles at': shown('temperature', settlesAtC(body), 1),
      'time constant': shown(HOURS, timeConstantH(body), 1),
      'energy for each °C': shown('energy', storeWhPerC(body.volumeL), 0),
      ...(hours === null ? {} : { 'time to the target': shown(HOURS, hours, 1) }),
    },
    notes: target !== undefined && hours === null ? ['It never reaches the target like this.'] : [],
  };
}

/** "8 h, 25.5 °C to 25.1 °C, room 19.5 °C, 480 Wh" */
function readNight(text: string): Night {
  const [duration = '', span = '', room = '', heatText = '0 Wh'] = text.split(',').map((one) => one.trim());
  const [from = '', to = ''] = span.split(/\s+to\s+/);
  const hours = parseDuration(duration);
  const [fromC, toC] = [amount('temperature', from), amount('temperature', to)];
  const [roomC, heatWh] = [amount('temperature', room.replace(/^room\s+/, '')), amount('energy', heatText)];
  if (!hours.ok || fromC === null || toC === null || roomC === null || heatWh === null)
    throw problem('SW-WAT-001', {
      argument: '--night',
      found: `"${text}"`,
      expected: 'how long, from what to what temperature, the room, and the heat put in',
      example: `--night "${NIGHT}"`,
    });
  return { hours: hours.value / HOUR_MS, fromC, toC, roomC, heatWh };
}
const NIGHT = '8 h, 25.5 °C to 25.1 °C, room 19.5 °C, 480 Wh';

function amount(kind: QuantityKind, text: string): number | null {
  const parsed = parseQuantity(kind, text);
  return parsed.ok ? parsed.value : null;
}

function loss(given: Given): Result {
  const nights = given.all('night').map(readNight);
  if (nights.length === 0)
    throw problem('SW-WAT-003', { argument: '--night', expected: 'one night at least', example: `--night "${NIGHT}"` });
  const found = learnLoss(given.quantity('volume'), nights);
  return {
    what: 'Heat lost for each degree over the room',
    answer: bounded('heatLoss', found, 1),
    source: `${HEAT_SOURCE}; learned from ${nights.length === 1 ? 'one night' : `${nights.length} nights`}`,
  };
}

function heater(given: Given): Result {
  const learned = given.maybe('loss');
  const bounds = learned === undefined ? null : { value: learned, low: learned, high: learned };
  const size = heaterSize(given.quantity('volume'), given.quantity('target'), given.quantity('room'), bounds);
  return {
    what: 'Heaters together',
    answer: bounded('power', size.totalW, 0),
    source: learned === undefined ? '0.3 to 1.0 W for each litre: common practice, no source' : HEATER_SOURCE,
    also: {
      'each of two': shown('power', size.eachW, 0),
      ...(size.oneHoldsC === null ? {} : { 'one alone holds': shown('temperature', size.oneHoldsC, 1) }),
    },
    notes: ['Two heaters on plugs of their own: one that sticks on cannot cook the tank, one that fails leaves half.'],
  };
}

function oxygen(given: Given): Result {
  const water = { salinityPpt: given.quantity('salinity'), temperatureC: given.quantity('temperature') };
  const air = given.has('air') ? given.quantity('air') / ATM_BAR : airAtHeightAtm(given.quantity('height') / 100);
  const full = oxygenSaturationMgL(water, air);
  const reading = given.maybe('oxygen');
  const use = given.maybe('use');
  const each = use === undefined ? NIGHT_USE_MG_L_H : { value: use / 24, low: use / 24, high: use / 24 };
  const hours = hoursOfOxygen(reading ?? full, given.quantity('limit'), each);
  return {
    what: 'Saturated with air',
    answer: shown('dissolved', full, 2),
    source: given.has('limit') || given.has('oxygen') || given.has('use') ? OXYGEN_CLOCK_SOURCE : OXYGEN_SOURCE,
    also: {
      ...(reading === undefined
        ? {}
        : { 'reading is of that': shown(PER_CENT, 100 * oxygenShare(reading, water, air), 0) }),
      'time to the limit, nothing moving the surface': bounded(HOURS, hours, 1),
    },
    notes: [
      `Stress begins below ${OXYGEN_LIMITS.stressMgL} mg/L and danger near ${OXYGEN_LIMITS.dangerMgL} mg/L; a film over a sleeping coral is short of it long before the water is.`,
    ],
  };
}

export const HEAT_TOPICS: readonly Topic[] = [
  {
    name: 'evaporation',
    summary: 'what evaporates from the open surface, beside what was topped off',
    options: [
      { name: 'area', takes: 'area', help: 'open surface of tank and sump', example: '0.6 m²' },
      { name: 'temperature', takes: 'temperature', help: 'of the water', example: '25.5 °C' },
      ROOM,
      { name: 'humidity', takes: 'share', help: 'relative humidity of the room', example: '50 %' },
      {
        name: 'air',
        takes: 'airSpeed',
        help: 'speed of the air over the water',
        example: '0.1 m/s',
        fallback: '0.1 m/s',
      },
      { name: 'salinity', takes: 'salinity', help: 'salinity', example: '35 ppt', fallback: '35 ppt' },
      { name: 'run', takes: 'duration', help: 'time the top-off pump runs in a day', example: '340 s' },
      { name: 'pump', takes: 'flow', help: 'its measured flow', example: '17.5 ml/s' },
    ],
    range: 'Water of -2 to 40 °C, room of -10 to 50 °C, air up to 5 m/s.',
    examples: [
      '--area "0.6 m²" --temperature "25.5 °C" --room "19.5 °C" --humidity "50 %"',
      '--area "8 ft²" --temperature "78 °F" --room "68 °F" --humidity "40 %" --air "40 ft/min" --us',
      '--area "0.75 m²" --temperature "25.5 °C" --room "21 °C" --humidity "45 %" --salinity "33 ppt" --run "340 s" --pump "17.5 ml/s"',
    ],
    run: evaporation,
  },
  {
    name: 'heat',
    summary: 'how a tank cools or warms, and where it ends',
    options: HEAT_OPTIONS,
    range: 'Water of 0 to 45 °C, room of -10 to 50 °C.',
    examples: [
      '--volume "458 L" --loss "12.5 W/°C" --room "19.5 °C" --tank "25.5 °C" --for "4 h" --target "24.5 °C"',
      '--volume "120 gal" --loss "12.5 W/°C" --room "77 °F" --tank "78 °F" --heater "200 W" --target "80 °F" --us',
    ],
    run: heat,
  },
  {
    name: 'loss',
    summary: 'heat lost for each degree over the room, learned from nights',
    options: [
      VOLUME,
      { name: 'night', takes: 'night', help: 'a night, lamps off; may be repeated', example: NIGHT, many: true },
    ],
    range: 'Nights in which the tank was warmer than its room and all heat is counted.',
    examples: [
      `--volume "458 L" --night "${NIGHT}"`,
      `--volume "458 L" --night "${NIGHT}" --night "8 h, 25.5 °C to 24.9 °C, room 17.5 °C, 430 Wh" --night "7 h, 25.4 °C to 25.2 °C, room 20 °C, 400 Wh"`,
    ],
    run: loss,
  },
  {
    name: 'heater',
    summary: 'size of the heaters',
    options: [
      VOLUME,
      { name: 'target', takes: 'temperature', help: 'temperature to hold', example: '25.5 °C', fallback: '25.5 °C' },
      { ...ROOM, help: 'coldest the room gets', fallback: '17 °C' },
      { name: 'loss', takes: 'heatLoss', help: 'learned loss; left out, by the litre', example: '12 W/°C' },
    ],
    range: 'Room of -10 to 50 °C.',
    examples: ['--volume "458 L" --loss "12.5 W/°C" --room "17 °C"', '--volume "120 gal" --target "78 °F" --us'],
    run: heater,
  },
  {
    name: 'oxygen',
    summary: 'oxygen at saturation, and how long it lasts when nothing moves the surface',
    options: [
      { name: 'salinity', takes: 'salinity', help: 'salinity', example: '35 ppt', fallback: '35 ppt' },
      { name: 'temperature', takes: 'temperature', help: 'of the water', example: '25.5 °C' },
      { name: 'height', takes: 'length', help: 'above the sea', example: '300 m', fallback: '0 m' },
      {
        name: 'air',
        takes: 'pressure',
        help: 'or pressure of the air as measured, not brought to sea level',
        example: '1013 mbar',
      },
      {
        name: 'oxygen',
        takes: 'dissolved',
        help: 'a reading to start from; left out, saturation',
        example: '6.5 mg/L',
      },
      { name: 'limit', takes: 'dissolved', help: 'down to', example: '4 mg/L', fallback: '4 mg/L' },
      {
        name: 'use',
        takes: 'dissolvedRate',
        help: 'use in the dark; left out, 0.5 to 1.5 mg/L/h',
        example: '1 mg/L/h',
      },
    ],
    range: '0 to 42 ppt, 0 to 40 °C, 0.5 to 1.1 atmospheres.',
    examples: [
      '--temperature "25.5 °C"',
      '--temperature "78 °F" --height "5,000 ft" --oxygen "5.2 mg/L" --use "1 mg/L/h"',
      '--temperature "25 °C" --air "980 mbar" --limit "5.5 mg/L"',
      '--temperature "25 °C" --salinity "0 ppt" --json',
    ],
    run: oxygen,
  },
];
