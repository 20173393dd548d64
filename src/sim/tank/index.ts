// The demo tank's physics: water, heat and watts as a pure, seeded step. It knows no hub and no plug, only what has power.
export * from './plugs.ts';
export * from './seasons.ts';
export * from './state.ts';
export { FEED_PER_PRODUCT, HEATER_OWN_STOP_C, stepTank, TOP_OFF_L_PER_S } from './step.ts';
export * from './water.ts';
export { devicePower, isDosing, LED_DAY, ledLevel, usualPowerW } from './watts.ts';
