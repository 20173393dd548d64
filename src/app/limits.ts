import { listWords, problem } from '../errors/index.ts';
import { learnedLimit } from '../forecast/index.ts';
import { type Actor, type Limit, MEASURE_UNITS, type Measure, type Part, type PartId } from '../model/index.ts';
import { acceptedLimits, actorName, lifeUsage, limitInForce, livesFrom, livesToLearnFrom } from '../record/index.ts';
import { amountText } from '../remind/index.ts';
import type { LimitView } from './keeper-types.ts';
import { partNamed } from './parts.ts';
import type { Assembled } from './service.ts';

/** The limits of a part, with what its own past lives and those of its like say of each. Nothing is changed by looking. */
export function limitsOf(app: Assembled, id: PartId): readonly LimitView[] {
  const part = partNamed(app, id);
  const { parts } = app.config.tank;
  const accepted = acceptedLimits(app.store.journal(['limit-set']));
  const lives = livesFrom(parts, app.store.lives());
  const now = app.system.clock.now();
  const sources = app.sources(now);
  const present = (one: Part) => lifeUsage(one, app.standings.lives().get(one.id) ?? null, now, sources);
  return part.limits.map((limit): LimitView => {
    const own = limitInForce(part, limit, accepted);
    const inForce = own?.amount ?? limit.amount;
    const learned = learnedLimit(livesToLearnFrom(part, limit, parts, lives, present), inForce, part.safety);
    return {
      part: part.id,
      name: part.name,
      measure: limit.measure,
      unit: MEASURE_UNITS[limit.measure],
      configured: limit.amount,
      inForce,
      acceptedBy: own?.by ?? null,
      acceptedAt: own?.at ?? null,
      safety: part.safety,
      lives: learned.lives,
      worn: learned.worn,
      learned: learned.learned,
      proposed: rounded(proposalFor(part, limit, learned.amount)),
      why: WHY[learned.why](limit.measure, learned.learned),
    };
  });
}

/** Steps of limits may add up: a safety part never comes to more than the configuration says. */
const proposalFor = (part: Part, limit: Limit, amount: number | null): number | null =>
  amount === null ? null : part.safety ? Math.min(amount, limit.amount) : amount;

/** Two figures are as much as so few lives can tell; never rounded up. */
function rounded(amount: number | null): number | null {
  if (amount === null || amount <= 0) return null;
  const step = 10 ** (Math.floor(Math.log10(amount)) - 1);
  return Number((Math.floor(amount / step) * step).toPrecision(2));
}

type Words = (measure: Measure, learned: number | null) => string;
const lasting: Words = (measure, learned) =>
  learned === null ? 'nothing learned' : `nine of ten like these last ${amountText(learned, measure)}`;

const WHY: Readonly<Record<ReturnType<typeof learnedLimit>['why'], Words>> = {
  shorter: lasting,
  longer: lasting,
  'as-it-is': (measure, learned) => `${lasting(measure, learned)}: the limit fits`,
  'too-few': () => 'fewer than three were found worn out: nothing can be learned yet',
  'too-few-to-lengthen': (measure, learned) =>
    `${lasting(measure, learned)}, but a longer limit needs five lives behind it`,
  safety: (measure, learned) =>
    `${lasting(measure, learned)}, but a part that guards against harm is never given longer`,
};

/** The keeper's consent: takes what is proposed, or goes back to the configuration's limit. */
export function setLimitNow(
  app: Assembled,
  id: PartId,
  by: Actor,
  change: 'accepted' | 'given-back',
  measure?: Measure,
): readonly LimitView[] {
  const views = limitsOf(app, id);
  const fits = (view: LimitView): boolean =>
    change === 'accepted' ? view.proposed !== null : view.acceptedBy !== null;
  const meant = views.filter((view) => (measure === undefined || view.measure === measure) && fits(view));
  const [only] = meant;
  if (only === undefined) {
    const { name } = partNamed(app, id);
    if (change === 'accepted')
      throw problem('SW-REC-020', { part: name, why: views.map((view) => `${view.measure}: ${view.why}`).join('; ') });
    throw problem('SW-REC-021', { part: name });
  }
  if (meant.length > 1)
    throw problem('SW-REC-022', { part: only.name, known: listWords(meant.map((view) => view.measure)) });
  app.store.append({
    v: 1,
    kind: 'limit-set',
    at: app.system.clock.now(),
    part: id,
    measure: only.measure,
    change,
    amount: change === 'accepted' ? (only.proposed ?? only.inForce) : only.configured,
    before: only.inForce,
    configured: only.configured,
    by: actorName(by),
    why: only.why,
  });
  app.review.anew();
  return limitsOf(app, id);
}
