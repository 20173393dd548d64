import type { FastifyInstance } from 'fastify';
import {
  ANSWER_BODY,
  COUNTER_PARAMS,
  EMPTY_BODY,
  GUARD_PARAMS,
  given,
  LAMP_PARAMS,
  LIGHT_BODY,
  LIMIT_BODY,
  PART_PARAMS,
  QUESTION_PARAMS,
  QUESTIONS_QUERY,
  RECOUNT_BODY,
  SEED_BODY,
  SOURCE_BODY,
} from './bodies.ts';
import { onlyPerson, type RouteTools, take } from './routes.ts';

/** What a keeper does to the record: take back, seed, recount, change sources, answer. */
export function keeperRoutes(app: FastifyInstance, { face, actorOf }: RouteTools): void {
  app.post('/v1/parts/:part/undo', async (request) => {
    const actor = onlyPerson(actorOf(request), 'take a record back');
    take(EMPTY_BODY, request.body ?? {});
    return await face.undo(take(PART_PARAMS, request.params).part, actor);
  });
  app.post('/v1/parts/:part/seed', async (request) => {
    const actor = onlyPerson(actorOf(request), 'give a part its past');
    const { fittedAt, used, note } = take(SEED_BODY, request.body);
    const { part } = take(PART_PARAMS, request.params);
    return {
      usage: await face.seed(part, actor, {
        fittedAt,
        ...(used === undefined ? {} : { used: given(used) }),
        ...(note === undefined ? {} : { note }),
      }),
    };
  });
  app.get('/v1/parts/:part/limits', (request) => ({ limits: face.limits(take(PART_PARAMS, request.params).part) }));
  app.post('/v1/parts/:part/limits', async (request) => {
    const actor = onlyPerson(actorOf(request), 'change a limit');
    const { change, measure } = take(LIMIT_BODY, request.body);
    return { limits: await face.setLimit(take(PART_PARAMS, request.params).part, actor, change, measure) };
  });
  // Looking at both figures changes nothing; taking the new one is a person's.
  app.post('/v1/parts/:part/recount', async (request) => {
    const { thresholdW, take: isTaken = false } = take(RECOUNT_BODY, request.body);
    const actor = isTaken ? onlyPerson(actorOf(request), 'take a recount') : actorOf(request);
    return { recount: await face.recount(take(PART_PARAMS, request.params).part, actor, thresholdW, isTaken) };
  });
  for (const how of ['replace', 'move'] as const)
    app.post(`/v1/sources/:counter/${how}`, async (request) => {
      const actor = onlyPerson(actorOf(request), 'change a source');
      const { entity } = take(SOURCE_BODY, request.body);
      return { sources: await face.changeSource(take(COUNTER_PARAMS, request.params).counter, actor, { how, entity }) };
    });
  app.get('/v1/questions', (request) => {
    const { all } = take(QUESTIONS_QUERY, request.query);
    return { questions: face.questions(all === 'true') };
  });
  app.post('/v1/questions/:question/answer', async (request) => {
    const actor = onlyPerson(actorOf(request), 'answer a question');
    const { choice } = take(ANSWER_BODY, request.body);
    return { question: await face.answer(take(QUESTION_PARAMS, request.params).question, actor, choice) };
  });
  app.get('/v1/attention', () => ({ attention: face.attention() }));
  app.get('/v1/guards', () => ({ guards: face.guards() }));
  app.post('/v1/guards/:guard/reset', async (request) => {
    const actor = onlyPerson(actorOf(request), 'reset a guard');
    take(EMPTY_BODY, request.body ?? {});
    return { guard: await face.resetGuard(take(GUARD_PARAMS, request.params).guard, actor) };
  });
  app.get('/v1/acclimation', () => ({ lamps: face.acclimation() }));
  app.post('/v1/acclimation/:lamp/start', async (request) => {
    const actor = onlyPerson(actorOf(request), 'give the light of a lamp to the service');
    const { hours } = take(LIGHT_BODY, request.body ?? {});
    return { lamp: await face.startAcclimation(take(LAMP_PARAMS, request.params).lamp, actor, hours) };
  });
  app.post('/v1/acclimation/:lamp/stop', async (request) => {
    const actor = onlyPerson(actorOf(request), 'end the light programme of a lamp');
    take(EMPTY_BODY, request.body ?? {});
    return { lamp: await face.stopAcclimation(take(LAMP_PARAMS, request.params).lamp, actor) };
  });
  app.get('/v1/resets', () => ({ resets: face.resets() }));
}
