import { describe, problem } from '../errors/index.ts';
import type { Actor, PartId } from '../model/index.ts';
import type { HubPress } from '../ports/index.ts';
import { bindPress } from '../procedure/index.ts';
import { meaningOf } from '../publish/index.ts';
import { putOffPart, replacePart } from './parts.ts';
import { actorOfHubUser } from './people.ts';
import type { Assembled } from './service.ts';

/** A button of ours pressed in the hub, or a notification answered. Whoever pressed is told when nothing came of it. */
export function handlePress(app: Assembled, press: HubPress): void {
  const actor = actorOfHubUser(press.userId, app.config.tank.people);
  try {
    if (press.kind === 'typed') app.typing.take(press);
    else if (press.kind === 'notification') answerNotification(app, press.action, actor);
    else pressButton(app, press, actor);
  } catch (error) {
    app.alarms.answer(describe(error));
  }
}

function pressButton(app: Assembled, press: Extract<HubPress, { kind: 'button' }>, actor: Actor): void {
  const meaning = meaningOf(press.button);
  switch (meaning?.kind) {
    case 'start':
      app.runner.start(meaning.procedure, actor);
      return;
    case 'abort':
      app.runner.abort(actor);
      return;
    case 'confirm':
      confirmShown(app, press, actor);
      return;
    case 'done':
    case 'later':
      record(app, meaning.kind, meaning.part, actor);
      return;
    case 'light-start':
      app.alarms.answer(`${app.protection.acclimating.start(meaning.lamp, actor).text}.`);
      return;
    case 'light-stop':
      app.alarms.answer(`${app.protection.acclimating.stop(meaning.lamp, actor).text}.`);
      return;
    default:
      app.system.log.warn(`an unknown button was pressed: ${press.button}`);
  }
}

/** The one confirm button has no nonce of its own: the press is bound to what the hub was showing at that moment. */
function confirmShown(app: Assembled, press: Extract<HubPress, { kind: 'button' }>, actor: Actor): void {
  const bound = bindPress(
    app.publishing.shown(),
    { at: press.receivedAt, userId: press.userId },
    app.ctx.settings.confirmDelayMs,
  );
  if (!bound.ok) {
    app.alarms.answer(bound.why);
    return;
  }
  const { session, step, nonce } = bound;
  const prompt = app.runner.state()?.prompt;
  const asks = prompt?.nonce === nonce ? prompt.asks : undefined;
  const since = app.publishing.shown().find((one) => one.nonce === nonce)?.publishedAt ?? press.receivedAt;
  const value = asks && app.typing.valueFor({ since, userId: press.userId, unit: asks.unit });
  const given = { session, step, nonce, actor, ...(value === undefined ? {} : { value }) };
  const { accepted, why } = app.runner.confirm(given);
  if (accepted) app.alarms.answerOver();
  else app.alarms.answer(why);
}

function answerNotification(app: Assembled, action: string, actor: Actor): void {
  const answer = app.reminding.answer(action);
  if (answer === null) return;
  if (answer.action !== 'open') record(app, answer.action, answer.part, actor);
}

/** The record says who did it, as everywhere else: an automation's press must not begin a new life of a part. */
function record(app: Assembled, what: 'done' | 'later', part: PartId, actor: Actor): void {
  if (actor.kind !== 'person')
    throw problem('SW-SES-007', { what: what === 'done' ? 'recording a replacement' : 'putting a part off' });
  if (what === 'done') replacePart(app, part, actor);
  else putOffPart(app, part, actor);
  app.alarms.answerOver();
}
