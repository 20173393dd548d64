// The catalogue of everything that can go wrong in front of a person: code, sentence, what to do, transient or
// permanent, one file per area. Data and pure text only: who throws and who retries is decided elsewhere.
export * from './catalogue/index.ts';
export * from './describe.ts';
export * from './entry.ts';
export * from './nearest.ts';
export * from './page.ts';
export * from './problem.ts';
