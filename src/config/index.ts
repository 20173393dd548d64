// The one schema of slackwater.yaml: key, type, range, unit, default, help. Load, check; JSON Schema, example and
// reference page are generated from it.
export * from './types.ts';
