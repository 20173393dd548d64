// The rule pack as data: roles, parts with limits, ordering rules, procedures and cautions, each with its default, safe
// range, why and source mark. No behaviour beyond looking a setting up and checking an override.
export * from './cautions.ts';
export * from './parts.ts';
export * from './procedures.ts';
export * from './roles.ts';
export * from './rules.ts';
export * from './sources.ts';
export * from './types.ts';
