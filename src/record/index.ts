// Journal entry shapes, their versions and replay; the service record and part lives. Pure.
export * from './types.ts';
