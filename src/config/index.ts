// The one schema of slackwater.yaml: key, type, range, unit, default, help. Load, check; JSON Schema, example and
// reference page are generated from it. No reading of files here: text comes in, a checked configuration goes out.
export * from './example.ts';
export * from './json-schema.ts';
export * from './load.ts';
export * from './reference.ts';
export * from './types.ts';
