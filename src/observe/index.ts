// Hub states become observations; live and history merge here; freshness is judged here. Pure.
// Belongs here: quirks of what a hub or a device reports. Not here: anything that adds up.
export * from './types.ts';
