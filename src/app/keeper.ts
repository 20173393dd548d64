import type { KeeperFace } from './keeper-types.ts';
import { limitsOf, setLimitNow } from './limits.ts';
import { fitNow, recountNow, seedNow, undoNow } from './lives.ts';
import { usageInPeriod } from './periods.ts';
import { answerNow, questionsOf, resetsOf } from './questions.ts';
import type { Assembled } from './service.ts';
import { changeSourceNow } from './sources.ts';

/** The keeper's part of the face; whatever changes something goes through the one loop. */
export function keeperFace(app: Assembled): KeeperFace {
  const { loop, standings, system, sources, config } = app;
  const { tank } = config;
  return {
    fitted: (part, by, how) => loop.run('fitted', () => fitNow(app, part, by, how)),
    undo: (part, by) => loop.run('undo', () => undoNow(app, part, by)),
    seed: (part, by, past) => seedNow(app, part, by, past),
    limits: (part) => limitsOf(app, part),
    setLimit: (part, by, change, measure) => loop.run('set limit', () => setLimitNow(app, part, by, change, measure)),
    recount: (part, by, thresholdW, take) => loop.run('recount', () => recountNow(app, part, by, thresholdW, take)),
    changeSource: (name, by, change) => loop.run('change source', () => changeSourceNow(app, name, by, change)),
    questions: (all) => questionsOf(app, all),
    answer: (question, by, choice) => loop.run('answer', () => answerNow(app, question, by, choice)),
    resets: () => resetsOf(app),
    usageIn: (period) => {
      const now = system.clock.now();
      const lives = standings.lives();
      const from = sources(now);
      return tank.parts.map((part) =>
        usageInPeriod({ part, life: lives.get(part.id) ?? null, period, now, zone: tank.timeZone, sources: from }),
      );
    },
  };
}
