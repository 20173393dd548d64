import type { PersonAct, Said } from '../trace.ts';
import { provedOff } from './evidence.ts';
import type { Check, Report } from './watcher.ts';
import { factsOf, nameOf, type World } from './world.ts';

// I1: nothing is called safe on stale, missing or contradictory evidence.
// "May be unplugged" needs rung 3, and 4 where an effect exists; "hands in" needs rung 6: the plug in the person's hand.
// A person's word is evidence only from a known person, to a prompt that was shown, once, and not within two seconds of it.

const MAY_BE_UNPLUGGED = /may be unplugged/i;
const NOT_PROVEN = /not proven|unplug it now/i;

const saysUnplug = (said: Said): boolean =>
  said.means === 'may-be-unplugged' || (MAY_BE_UNPLUGGED.test(said.text) && !NOT_PROVEN.test(said.text));

function checkWords(world: World, said: Said, report: Report): void {
  if (said.what === 'alarm' || said.equipment === undefined) return;
  const name = nameOf(world, said.equipment);
  if (saysUnplug(said)) {
    report.arm();
    const { missing } = provedOff(world, said.equipment);
    if (missing !== null) report.fail(`${name} is called safe to unplug: ${missing}`);
  }
  if (said.means === 'hands-in' && hasLead(world, said.equipment)) {
    report.arm();
    if (!world.claims.has(said.equipment)) report.fail(`hands are asked in at ${name}, and nobody holds its plug`);
  }
}

const hasLead = (world: World, equipment: string): boolean => factsOf(world, equipment).switchEntity !== undefined;

function checkAnswer(world: World, act: PersonAct, used: Set<string>, report: Report): void {
  if (!act.accepted || act.act === 'aborts') return;
  // What is recorded beside a confirmation is judged with it.
  if (act.nonce === undefined) {
    if (!act.identified) report.fail(`the word of a person nobody knows was taken (${act.act})`);
    return;
  }
  report.arm();
  if (!act.identified) report.fail(`the word of a person nobody knows was taken at ${act.step ?? act.act}`);
  const prompt = world.prompts.get(act.nonce);
  if (prompt === undefined)
    report.fail(`an answer was taken to a question nobody was asked, at ${act.step ?? act.act}`);
  else {
    if (act.at - prompt.at < world.header.limits.confirmDelayMs)
      report.fail(
        `an answer was taken ${act.at - prompt.at} ms after its question appeared, at ${act.step ?? act.act}`,
      );
    if (prompt.step !== undefined && act.step !== undefined && prompt.step !== act.step)
      report.fail(`an answer to ${prompt.step} was taken for ${act.step}`);
  }
  if (used.has(act.nonce)) report.fail(`one answer was taken twice, at ${act.step ?? act.act}`);
  used.add(act.nonce);
}

export const i1: Check<Set<string>> = {
  kinds: ['said', 'person'],
  memory: () => new Set(),
  copy: (used) => new Set(used),
  watch: (used, report) => ({
    after: (entry, world) => {
      if (entry.kind === 'said') checkWords(world, entry, report);
      if (entry.kind === 'person') checkAnswer(world, entry, used, report);
    },
  }),
};
