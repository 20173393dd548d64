import type { LengthCm, VolumeL } from '../units/index.ts';
import { positive, type Range, within, zeroOrMore } from './range.ts';

export const DRAIN_SOURCE = 'volumes of what comes down; room for 1.2 times the normal: common practice, no source';
/** Free room for the normal drain-down, and a fifth to spare. */
export const DRAIN_ROOM_FACTOR = 1.2;

export type DrainDown = {
  /** Litres in one centimetre of the display. */
  readonly displayLPerCm: number;
  /** Water above the edge of the weir while the return runs. */
  readonly filmCm: LengthCm;
  readonly overflowBoxL: VolumeL;
  readonly pipesL: VolumeL;
  /** How far below the weir the siphon-break hole lets air in. */
  readonly siphonCm: LengthCm;
  /** How far below the weir the outlet itself is: where a siphon ends when the hole is blocked. */
  readonly outletCm: LengthCm;
};

const DISPLAY: Range = { ...positive('display', 'L/cm', '7.5 L/cm'), high: 1000 };
const depth = (argument: string, example: string): Range => ({ ...zeroOrMore(argument, 'cm', example), high: 300 });

export type Drained = { readonly normalL: VolumeL; readonly blockedL: VolumeL; readonly roomL: VolumeL };

/** Litres that come down into the sump when the return stops: with a clear siphon-break hole, and with a blocked one. */
export function drainDown(tank: DrainDown): Drained {
  const { displayLPerCm, filmCm, overflowBoxL, pipesL, siphonCm, outletCm } = tank;
  within(displayLPerCm, DISPLAY);
  within(filmCm, depth('film', '1.2 cm'));
  within(siphonCm, depth('siphon', '0.8 cm'));
  within(outletCm, { ...depth('outlet', '6 cm'), low: siphonCm, why: 'the outlet is not above its own siphon break' });
  const fixed =
    displayLPerCm * filmCm +
    within(overflowBoxL, zeroOrMore('box', 'L', '3 L')) +
    within(pipesL, zeroOrMore('pipes', 'L', '1.5 L'));
  const normalL = fixed + displayLPerCm * siphonCm;
  return { normalL, blockedL: fixed + displayLPerCm * outletCm, roomL: normalL * DRAIN_ROOM_FACTOR };
}

export type Room = {
  readonly freeL: VolumeL;
  /** After a normal drain-down; below zero it floods. */
  readonly spareL: VolumeL;
  readonly fitsNormal: boolean;
  readonly fitsBlocked: boolean;
  /** Level that a normal drain-down rises to. */
  readonly risesToCm: LengthCm;
};

/** Whether the sump takes it, from its level now to its rim. */
export function headRoom(sumpLPerCm: number, levelCm: LengthCm, rimCm: LengthCm, drained: Drained): Room {
  within(sumpLPerCm, { ...positive('sump', 'L/cm', '4.05 L/cm'), high: 1000 });
  within(levelCm, { ...zeroOrMore('level', 'cm', '22 cm'), high: rimCm, why: 'the rim' });
  const freeL = (rimCm - levelCm) * sumpLPerCm;
  return {
    freeL,
    spareL: freeL - drained.normalL,
    fitsNormal: freeL >= drained.roomL,
    fitsBlocked: freeL >= drained.blockedL,
    risesToCm: levelCm + drained.normalL / sumpLPerCm,
  };
}

/** Litres in one centimetre of a box. */
export function litresPerCm(areaM2: number): number {
  return within(areaM2, positive('area', 'm²', '0.75 m²')) * 10;
}
