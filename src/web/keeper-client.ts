import type {
  AcclimationView,
  AttentionLine,
  GuardView,
  HowFitted,
  LimitView,
  PartUsage,
  PastOfPart,
  Period,
  PeriodUsage,
  RecountView,
  ResetView,
  SourceView,
} from '../app/index.ts';
import type { AnsweredQuestion, CounterId, EntityId, EquipmentId, Measure, PartId } from '../model/index.ts';

/** The keeper's routes, one method each. */
export type KeeperClient = {
  fitted(part: PartId, how: HowFitted): Promise<PartUsage>;
  undo(part: PartId): Promise<{ readonly usage: PartUsage; readonly what: string }>;
  seed(part: PartId, past: PastOfPart): Promise<PartUsage>;
  limits(part: PartId): Promise<readonly LimitView[]>;
  setLimit(part: PartId, change: 'accepted' | 'given-back', measure?: Measure): Promise<readonly LimitView[]>;
  recount(part: PartId, thresholdW: number, take: boolean): Promise<RecountView>;
  changeSource(name: CounterId, how: 'replace' | 'move', entity: EntityId): Promise<readonly SourceView[]>;
  questions(all: boolean): Promise<readonly AnsweredQuestion[]>;
  answer(question: string, choice: string): Promise<AnsweredQuestion>;
  attention(): Promise<readonly AttentionLine[]>;
  guards(): Promise<readonly GuardView[]>;
  resetGuard(guard: string): Promise<GuardView>;
  acclimation(): Promise<readonly AcclimationView[]>;
  startAcclimation(lamp: EquipmentId, hours?: string): Promise<AcclimationView>;
  stopAcclimation(lamp: EquipmentId): Promise<AcclimationView>;
  resets(): Promise<readonly ResetView[]>;
  usageIn(period: Period): Promise<readonly PeriodUsage[]>;
};

type Get = <T>(path: string) => Promise<T>;
type Post = <T>(path: string, body?: unknown) => Promise<T>;

export function keeperCalls(get: Get, post: Post): KeeperClient {
  const of = encodeURIComponent;
  return {
    fitted: async (part, how) => (await post<{ usage: PartUsage }>(`/v1/parts/${of(part)}/replaced`, how)).usage,
    undo: (part) => post(`/v1/parts/${of(part)}/undo`),
    seed: async (part, past) => (await post<{ usage: PartUsage }>(`/v1/parts/${of(part)}/seed`, past)).usage,
    limits: async (part) => (await get<{ limits: LimitView[] }>(`/v1/parts/${of(part)}/limits`)).limits,
    setLimit: async (part, change, measure) => {
      const body = { change, ...(measure === undefined ? {} : { measure }) };
      return (await post<{ limits: LimitView[] }>(`/v1/parts/${of(part)}/limits`, body)).limits;
    },
    recount: async (part, thresholdW, take) =>
      (await post<{ recount: RecountView }>(`/v1/parts/${of(part)}/recount`, { thresholdW, take })).recount,
    changeSource: async (name, how, entity) =>
      (await post<{ sources: SourceView[] }>(`/v1/sources/${of(name)}/${how}`, { entity })).sources,
    questions: async (all) => (await get<{ questions: AnsweredQuestion[] }>(`/v1/questions?all=${all}`)).questions,
    answer: async (question, choice) =>
      (await post<{ question: AnsweredQuestion }>(`/v1/questions/${of(question)}/answer`, { choice })).question,
    attention: async () => (await get<{ attention: AttentionLine[] }>('/v1/attention')).attention,
    guards: async () => (await get<{ guards: GuardView[] }>('/v1/guards')).guards,
    resetGuard: async (guard) => (await post<{ guard: GuardView }>(`/v1/guards/${of(guard)}/reset`)).guard,
    acclimation: async () => (await get<{ lamps: AcclimationView[] }>('/v1/acclimation')).lamps,
    startAcclimation: async (lamp, hours) =>
      (await post<{ lamp: AcclimationView }>(`/v1/acclimation/${of(lamp)}/start`, hours === undefined ? {} : { hours }))
        .lamp,
    stopAcclimation: async (lamp) => (await post<{ lamp: AcclimationView }>(`/v1/acclimation/${of(lamp)}/stop`)).lamp,
    resets: async () => (await get<{ resets: ResetView[] }>('/v1/resets')).resets,
    usageIn: async (period) => (await get<{ usage: PeriodUsage[] }>(`/v1/usage?period=${period}`)).usage,
  };
}
