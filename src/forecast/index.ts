// Rate of use → when a limit is reached, as early, likely and late dates. Pure.
// Belongs here: everything that looks ahead. Not here: what to say of it (remind/) or what to do about it (plan/).
export * from './calibration.ts';
export * from './condition-reach.ts';
export * from './daily-use.ts';
export * from './first-passage.ts';
export * from './lamp-fading.ts';
export * from './learned-limit.ts';
export * from './normal.ts';
export * from './reach.ts';
export * from './rests-on.ts';
export * from './survival.ts';
export * from './use-outlook.ts';
