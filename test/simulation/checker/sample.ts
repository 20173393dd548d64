import { DEFAULT_LIMITS, type EquipmentFacts, type Trace, type TraceEntry, type TraceHeader } from '../trace.ts';

// Traces written by hand: a small tank, and the words to tell a session on it entry by entry.

const plug = (id: string, facts: Partial<EquipmentFacts> & Pick<EquipmentFacts, 'name' | 'kind'>): EquipmentFacts => ({
  movesLevel: false,
  cycling: false,
  driven: false,
  switchEntity: `switch.${id}`,
  powerEntity: `sensor.${id}_power`,
  ...facts,
});

export const LEVEL = 'sensor.sump_level';
export const PROBES = ['sensor.display_temp', 'sensor.sump_temp'] as const;
export const T0 = Date.UTC(2026, 2, 2, 11, 0, 0);

export const HEADER: TraceHeader = {
  seed: 'by hand',
  procedure: 'return-pump-service',
  equipment: {
    return: plug('return', {
      name: 'Return pump',
      kind: 'mover',
      movesLevel: true,
      normalPowerW: 48,
      effect: { entity: LEVEL, onStop: 'rises', atLeast: 1.5 },
    }),
    circulation: plug('circulation', { name: 'Circulation pump', kind: 'mover', normalPowerW: 22 }),
    skimmer: plug('skimmer', { name: 'Skimmer', kind: 'other', normalPowerW: 26 }),
    heater: plug('heater', { name: 'Heater', kind: 'heater', cycling: true, driven: true, normalPowerW: 198 }),
    topoff: plug('topoff', {
      name: 'Top-off pump',
      kind: 'adder',
      toppingOff: true,
      cycling: true,
      driven: true,
      normalPowerW: 9,
    }),
  },
  outOfService: ['topoff', 'skimmer', 'heater', 'return'],
  sumpLevelEntity: LEVEL,
  sumpLitresPerCm: 4.05,
  sumpRimCm: 42,
  drainDownL: 19.5,
  temperatureEntities: PROBES,
  deputies: { mia: 'jonas' },
  limits: DEFAULT_LIMITS,
};

const WATTS: Readonly<Record<string, number>> = { return: 48, circulation: 22, skimmer: 26, heater: 198, topoff: 0.4 };

/** A trace in the making. Seconds count from the start; every call goes on from where the last one ended. */
export class Tape {
  readonly entries: TraceEntry[] = [];
  header: TraceHeader;
  at = T0;
  private sumpCm = 22.8;
  private nonces = 0;
  private readonly on = new Set(['return', 'circulation', 'skimmer', 'heater', 'topoff']);
  private readonly unplugged = new Set<string>();

  constructor(header: TraceHeader = HEADER) {
    this.header = header;
    for (const [equipment, facts] of Object.entries(header.equipment)) {
      const watts = WATTS[equipment] ?? 0;
      this.add({ kind: 'truth', at: this.at, equipment, pluggedIn: true, relayOn: true, watts, running: watts > 1 });
      this.add({ kind: 'truth', at: this.at, equipment, driverSuspended: false, immersed: facts.kind === 'heater' });
    }
    this.add({ kind: 'water', at: this.at, sumpCm: this.sumpCm, displayCm: 57, temperatureC: 25.4, flow: true });
    this.reports();
  }

  add(entry: TraceEntry): this {
    this.entries.push(entry);
    return this;
  }

  /** Time passes; all report at its end. */
  wait(seconds: number): this {
    this.at += seconds * 1000;
    return this.reports();
  }

  /** Time passes unheard. */
  silence(seconds: number): this {
    this.at += seconds * 1000;
    return this;
  }

  reading(entity: string, value: number | null, more: Partial<Extract<TraceEntry, { kind: 'reading' }>> = {}): this {
    return this.add({
      kind: 'reading',
      at: this.at,
      entity,
      about: 'other',
      value,
      reportedAt: this.at,
      ...more,
    });
  }

  reports(except: readonly string[] = []): this {
    for (const [equipment, facts] of Object.entries(this.header.equipment)) {
      if (except.includes(equipment)) continue;
      const on = this.on.has(equipment);
      const watts = on && !this.unplugged.has(equipment) ? (WATTS[equipment] ?? 0) : 0.2;
      if (facts.switchEntity !== undefined)
        this.reading(facts.switchEntity, on ? 1 : 0, { about: 'relay', equipment, reportedAt: this.at });
      if (facts.powerEntity !== undefined) this.reading(facts.powerEntity, watts, { about: 'watts', equipment });
    }
    if (this.header.sumpLevelEntity !== undefined)
      this.reading(this.header.sumpLevelEntity, this.sumpCm, { about: 'level' });
    for (const probe of this.header.temperatureEntities) this.reading(probe, 25.4, { about: 'temperature' });
    return this;
  }

  level(cm: number): this {
    this.sumpCm = cm;
    return this.add({ kind: 'water', at: this.at, sumpCm: cm });
  }

  private relay(equipment: string, on: boolean, by: 'us' | 'foreign' | 'itself'): void {
    if (on) this.on.add(equipment);
    else this.on.delete(equipment);
    const watts = on && !this.unplugged.has(equipment) ? (WATTS[equipment] ?? 0) : 0;
    this.add({ kind: 'truth', at: this.at, equipment, relayOn: on, watts, running: watts > 1, by });
    if (equipment === 'return') this.level(on ? 22.8 : 27.6).add({ kind: 'water', at: this.at, flow: on });
  }

  command(equipment: string, turn: 'on' | 'off', origin: 'session' | 'all-stop' = 'session'): this {
    this.add({ kind: 'command', at: this.at, equipment, turn, origin });
    this.relay(equipment, turn === 'on', 'us');
    return this;
  }

  foreign(equipment: string, on: boolean): this {
    this.relay(equipment, on, 'foreign');
    return this;
  }

  driver(equipment: string, turn: 'suspend' | 'resume'): this {
    this.add({ kind: 'driver', at: this.at, equipment, turn });
    return this.add({ kind: 'truth', at: this.at, equipment, driverSuspended: turn === 'suspend' });
  }

  passed(step: string, action: string, equipment: string, rung: number): this {
    return this.add({ kind: 'step', at: this.at, step, action, equipment, result: 'passed', rung });
  }

  alarm(code: string, equipment?: string): this {
    return this.add({
      kind: 'said',
      at: this.at,
      what: 'alarm',
      code,
      text: `Alarm ${code}.`,
      ...(equipment === undefined ? {} : { equipment }),
    });
  }

  /** A question, and its answer some seconds later. */
  ask(
    step: string,
    means: 'may-be-unplugged' | 'unplug-now' | 'hands-in' | 'plug-in' | 'resume' | 'look' | 'begin',
    equipment?: string,
  ): string {
    this.nonces += 1;
    const nonce = `n${this.nonces}`;
    const text = means === 'may-be-unplugged' ? 'It may be unplugged.' : `Please: ${means}.`;
    this.add({
      kind: 'said',
      at: this.at,
      what: 'prompt',
      text,
      means,
      step,
      nonce,
      ...(equipment === undefined ? {} : { equipment }),
    });
    return nonce;
  }

  answer(
    nonce: string,
    step: string,
    act: 'begins' | 'confirms' | 'resumes',
    person = 'mia',
    agreed: string[] = [],
  ): this {
    return this.add({
      kind: 'person',
      at: this.at,
      person,
      identified: true,
      act,
      accepted: true,
      step,
      nonce,
      ...(act === 'begins' ? { agreedLifeSupport: agreed } : {}),
    });
  }

  person(act: 'claims' | 'releases' | 'aborts', equipment?: string, person = 'mia', accepted = true): this {
    return this.add({
      kind: 'person',
      at: this.at,
      person,
      identified: true,
      act,
      accepted,
      ...(equipment === undefined ? {} : { equipment }),
    });
  }

  begin(agreed: string[] = []): this {
    this.add({ kind: 'started', at: this.at, person: 'mia' });
    const nonce = this.ask('begin', 'begin');
    return this.wait(5).answer(nonce, 'begin', 'begins', 'mia', agreed);
  }

  /** Off, three low readings, passed. */
  stop(equipment: string, rung = 3): this {
    if (this.header.equipment[equipment]?.driven === true) this.driver(equipment, 'suspend');
    this.command(equipment, 'off').wait(5).wait(5).wait(5);
    return this.passed(`off:${equipment}`, 'switch-off', equipment, rung);
  }

  start(equipment: string): this {
    this.command(equipment, 'on').wait(30).wait(30).wait(30);
    const rung = this.header.equipment[equipment]?.cycling === true ? 2 : 3;
    this.passed(`on:${equipment}`, 'switch-on', equipment, rung);
    if (this.header.equipment[equipment]?.driven === true) this.driver(equipment, 'resume');
    return this;
  }

  unplug(equipment: string): this {
    const nonce = this.ask(`unplug:${equipment}`, 'may-be-unplugged', equipment);
    this.wait(20).answer(nonce, `unplug:${equipment}`, 'confirms').person('claims', equipment);
    this.unplugged.add(equipment);
    this.add({ kind: 'hands', at: this.at, person: 'mia', inWater: false, holds: [equipment] });
    return this.add({
      kind: 'truth',
      at: this.at,
      equipment,
      pluggedIn: false,
      watts: 0,
      running: false,
      by: 'person',
    });
  }

  work(equipment: string): this {
    const nonce = this.ask(`work:${equipment}`, 'hands-in', equipment);
    this.add({ kind: 'hands', at: this.at, person: 'mia', inWater: true, holds: [equipment] });
    for (let minute = 0; minute < 10; minute += 1) this.wait(60);
    this.add({ kind: 'hands', at: this.at, person: 'mia', inWater: false, holds: [equipment] });
    return this.answer(nonce, `work:${equipment}`, 'confirms');
  }

  plugIn(equipment: string): this {
    const nonce = this.ask(`plug-in:${equipment}`, 'plug-in', equipment);
    this.add({ kind: 'hands', at: this.at, person: 'mia', inWater: false, holds: [] });
    this.add({ kind: 'truth', at: this.at, equipment, pluggedIn: true, by: 'person' });
    this.unplugged.delete(equipment);
    return this.wait(20).answer(nonce, `plug-in:${equipment}`, 'confirms').person('releases', equipment);
  }

  end(result: 'complete' | 'stopped' | 'aborted', listed: string[] = []): this {
    this.add({ kind: 'ended', at: this.at, result });
    if (listed.length > 0) this.add({ kind: 'listed', at: this.at, equipment: listed });
    return this.wait(60).wait(60);
  }

  trace(): Trace {
    return { header: this.header, entries: this.entries };
  }
}

/** Everything down to the return, in the right order. */
export const down = (tape: Tape, agreed: string[] = []): Tape =>
  tape.begin(agreed).stop('topoff', 2).stop('skimmer').stop('heater').wait(60).stop('return', 4);

/** Everything back after the return is plugged in again. */
export const back = (tape: Tape): Tape =>
  tape.start('return').wait(60).wait(60).start('heater').wait(60).start('skimmer').wait(60).start('topoff');

export const whole = (): Tape =>
  back(down(new Tape()).unplug('return').work('return').plugIn('return')).end('complete');
