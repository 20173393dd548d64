import { didYouMean, listWords, problem } from '../errors/index.ts';
import { type Actor, type AnsweredQuestion, CHOICES, MEASURE_UNITS } from '../model/index.ts';
import { actorName } from '../record/index.ts';
import type { ResetView } from './keeper-types.ts';
import type { Assembled } from './service.ts';

export const questionsOf = (app: Assembled, all: boolean): readonly AnsweredQuestion[] =>
  app.store.questions(all ? 'all' : 'open');

/** Puts a person's answer on disk. What follows from it is up to whoever asked. */
export function answerNow(app: Assembled, id: string, by: Actor, choice: string): AnsweredQuestion {
  const open = app.store.questions('open');
  const asked = open.find((one) => one.id === id);
  if (asked === undefined) {
    const known = open.map((one) => one.id);
    const hint = didYouMean(id, known, 'See `slackwater questions`.');
    throw problem('SW-REC-017', { found: id, known: known.length === 0 ? 'none' : listWords(known), hint });
  }
  if (!(CHOICES as readonly string[]).includes(choice))
    throw problem('SW-REC-018', { found: choice, known: CHOICES.join(', ') });
  const answer = { at: app.system.clock.now(), by: actorName(by), choice };
  app.store.answerQuestion(id, answer);
  app.system.log.info(`${answer.by} answered ${choice} to ${id}`);
  return { ...asked, answer };
}

/** Every fall of a total that was taken as a reset, newest first. */
export const resetsOf = (app: Assembled): readonly ResetView[] =>
  app.config.tank.counters
    .flatMap((def) =>
      app.store.resets(def.id).map((entry) => ({
        ...entry,
        name: def.name,
        unit: MEASURE_UNITS[def.measures[0] ?? 'litres'],
      })),
    )
    .sort((a, b) => b.at - a.at);
