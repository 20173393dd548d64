import { didYouMean, listWords, problem } from '../errors/index.ts';
import type { Actor, Part, PartId } from '../model/index.ts';
import { actorName, fitPart } from '../record/index.ts';
import type { Standing } from '../remind/index.ts';
import type { InstantMs } from '../units/index.ts';
import type { Assembled } from './service.ts';
import type { PartUsage } from './types.ts';

export function partNamed(app: Assembled, id: PartId): Part {
  const part = app.config.tank.parts.find((one) => one.id === id);
  if (part !== undefined) return part;
  const known = app.config.tank.parts.map((one) => one.id);
  throw problem('SW-SES-014', {
    found: id,
    known: listWords(known),
    hint: didYouMean(id, known, 'See `slackwater usage` for the parts.'),
  });
}

/** "Done": the old life ends with its usage, a new one begins, the notification goes everywhere. */
export function replacePart(app: Assembled, id: PartId, by: Actor, at?: InstantMs, note?: string): PartUsage {
  const part = partNamed(app, id);
  const now = app.system.clock.now();
  const sources = app.sources();
  const fitted = fitPart({
    part,
    present: app.standings.lives().get(id) ?? null,
    now,
    by,
    sources,
    ...(at === undefined ? {} : { fittedAt: at }),
    ...(note === undefined ? {} : { note }),
  });
  app.store.putLife(fitted.life, fitted.entry, fitted.ended);
  app.review.anew();
  return app.standings.usageOf(part, now, sources);
}

/** "Later": a debt that shows, until the time the settings give. */
export function putOffPart(app: Assembled, id: PartId, by: Actor): Standing {
  const part = partNamed(app, id);
  const now = app.system.clock.now();
  const until = now + app.config.reminders.laterMs;
  app.store.append({ v: 1, kind: 'put-off', at: now, part: id, until, by: actorName(by) });
  app.review.anew();
  const standing = app.standings.evaluate(now, app.sources()).find((one) => one.part === part.id);
  if (standing === undefined) throw problem('SW-SES-014', { found: id, known: id, hint: '' });
  return standing;
}
