import type { ProcedureDef } from './types.ts';

/** Jobs on lamps. */
export const LIGHT_PROCEDURES = {
  'lamp-set-change': {
    id: 'lamp-set-change',
    title: 'Lamp set change',
    occasion: 'rare',
    purpose: 'Change all tubes of a lamp bank, one by one, and see every one of them lit.',
    stop: ['fluorescent-bank'],
    handle: ['fluorescent-bank'],
    effects: [],
    beforeUnplug: { rule: 'K24', setting: 'coolMs' },
    trial: true,
    expectShare: 0.07,
    before: [
      {
        id: 'tubes-ready',
        does: 'look',
        rule: 'K24',
        why: 'A set is changed whole, and dry.',
        text: 'Look: the whole new set lies ready and matches the list, the cover glass is on, a proper step stands on level floor, hands are dry, cotton gloves on. Another light stays on in the room.',
        cautions: ['hot-lamps', 'ladders'],
        minutes: 5,
      },
    ],
    handsOn: [
      {
        id: 'tube',
        perPiece: true,
        text: 'Take out tube {n} of {of} of {name} and put its new one in the same place, before the next one is touched.',
        cautions: ['hot-lamps', 'mercury', 'ladders'],
        minutes: 5,
      },
      {
        id: 'tubes-away',
        text: 'Wipe reflector and cover glass of {name}; a clean cover adds light. Box the old tubes whole, for lamp collection.',
        cautions: ['mercury', 'disposal'],
        minutes: 8,
      },
    ],
    afterStart: [
      {
        id: 'all-lit',
        role: 'fluorescent-bank',
        does: 'look',
        rule: 'K24',
        why: 'Watts tell how many tubes burn, eyes tell which one flickers.',
        text: 'Look at {name} after 3 min: are all tubes lit, and does none flicker? If one stays dark, note its place.',
        cautions: ['hot-lamps'],
        minutes: 4,
      },
    ],
    // Light comes back before anybody looks at the water.
    phases: [
      { do: 'ready' },
      { do: 'before' },
      { do: 'stop' },
      { do: 'rest' },
      { do: 'unplug' },
      { do: 'work' },
      { do: 'plug-in' },
      { do: 'start' },
      { do: 'end' },
    ],
  },
  'uv-service': {
    id: 'uv-service',
    title: 'UV lamp and sleeve',
    occasion: 'rare',
    purpose: 'Change the UV lamp, clean or change its sleeve and O-rings, and bring it back without a leak.',
    stop: ['uv-unit'],
    handle: ['uv-unit'],
    effects: ['sump-level'],
    beforeUnplug: { rule: 'K11', setting: 'offMs' },
    handsOn: [
      {
        id: 'uv-open',
        text: 'Close the valves on both sides of {name}, or unplug its own feed pump too. Drain the housing over a tray, take the lamp out first, then the sleeve; gloves on, no finger on the glass.',
        cautions: ['uv-light', 'mercury', 'skin-infection'],
        minutes: 15,
      },
      {
        id: 'uv-clean',
        text: 'Wipe the sleeve with vinegar or fit a new one, grease and fit new O-rings. Keep the old lamp whole for collection.',
        cautions: ['acids', 'mercury', 'disposal'],
        minutes: 15,
      },
      {
        id: 'uv-tight',
        text: 'With the lamp still out, open the valves and let water through for 5 min: is every joint dry?',
        cautions: ['water-damage'],
        minutes: 7,
      },
      {
        id: 'uv-lamp-in',
        text: 'Put the lamp in and close the cap, so that no light can come out.',
        cautions: ['uv-light'],
        minutes: 3,
      },
    ],
    beforeStart: [
      {
        id: 'uv-closed',
        role: 'uv-unit',
        does: 'look',
        rule: 'K11',
        why: 'A lamp lit in an open housing burns eyes, one in still water its sleeve.',
        text: 'Look: is the cap of {name} closed, are its valves open, does water run through it?',
        cautions: ['uv-light'],
        minutes: 1,
      },
    ],
  },
} as const satisfies Readonly<Record<string, ProcedureDef>>;
