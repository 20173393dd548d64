import { didYouMean, listWords, problem } from '../errors/index.ts';
import {
  type Actor,
  type AnsweredQuestion,
  CHOICES,
  type CounterDef,
  MEASURE_UNITS,
  MEASURES,
} from '../model/index.ts';
import { actorName, settleFall } from '../record/index.ts';
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
  if (asked.kind === 'suspicious-fall') settle(app, asked, by, choice);
  app.protection.answered(asked, choice, by);
  app.store.answerQuestion(id, answer);
  app.system.log.info(`${answer.by} answered ${choice} to ${id}`);
  return { ...asked, answer };
}

/** What was doubtful is counted, or left out, for every part that the meter feeds. */
function settle(app: Assembled, { id, counter, facts }: AnsweredQuestion, by: Actor, choice: string): void {
  const def = app.config.tank.counters.find((one) => one.id === counter);
  const { amount, at } = facts ?? {};
  if (def === undefined || typeof amount !== 'number' || typeof at !== 'number') return;
  const sources = app.sources();
  const now = app.system.clock.now();
  for (const part of app.config.tank.parts) {
    const measure = MEASURES.find((one) => part.usageFrom[one] === def.id);
    if (measure === undefined) continue;
    const present = app.standings.lives().get(part.id) ?? null;
    const settled = settleFall({
      ...{ part, present, measure, at, question: id, choice, now, by, sources },
      amount: amount * unitsPerReading(def),
    });
    if (settled !== null) app.store.putLife(settled.life, settled.entry, null);
  }
  app.review.anew();
}

function unitsPerReading({ source }: CounterDef): number {
  if (source.kind === 'total') return source.unitsPerReading;
  return source.kind === 'pulses' ? source.litresPerPulse : 1;
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
