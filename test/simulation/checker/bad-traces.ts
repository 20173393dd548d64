import type { Invariant } from './index.ts';
import { back, down, HEADER, LEVEL, Tape } from './sample.ts';

/** One per invariant and more: each breaks that invariant and no other. */
export const BAD: readonly (readonly [Invariant, string, () => Tape])[] = [
  [
    'I1',
    'called safe on readings that are too old',
    () => {
      const tape = down(new Tape());
      tape.silence(300).ask('unplug:return', 'may-be-unplugged', 'return');
      return tape.wait(5).person('aborts').end('aborted', ['topoff', 'skimmer', 'heater', 'return']);
    },
  ],
  [
    'I1',
    'called safe though the meter contradicts the switch',
    () => {
      const tape = down(new Tape());
      tape.wait(1).reading('sensor.return_power', 41, { about: 'watts', equipment: 'return' });
      tape.ask('unplug:return', 'may-be-unplugged', 'return');
      return tape.wait(5).person('aborts').end('aborted', ['topoff', 'skimmer', 'heater', 'return']);
    },
  ],
  [
    'I1',
    'a thermostat that idles at nothing called safe',
    () => {
      const tape = new Tape().begin().stop('topoff', 2);
      tape.ask('unplug:topoff', 'may-be-unplugged', 'topoff');
      return tape.wait(5).start('topoff').end('complete');
    },
  ],
  [
    'I1',
    'hands asked in with the plug in nobody’s hand',
    () => {
      const tape = down(new Tape());
      tape.ask('work:return', 'hands-in', 'return');
      return back(tape.wait(30)).end('complete');
    },
  ],
  [
    'I1',
    'an answer taken as soon as its question appeared',
    () => {
      const tape = down(new Tape());
      const nonce = tape.ask('unplug:return', 'may-be-unplugged', 'return');
      return back(tape.silence(1).answer(nonce, 'unplug:return', 'confirms').wait(9)).end('complete');
    },
  ],
  [
    'I1',
    'one answer taken twice',
    () => {
      const tape = down(new Tape());
      const nonce = tape.ask('look', 'look');
      return back(tape.wait(9).answer(nonce, 'look', 'confirms').wait(9).answer(nonce, 'look', 'confirms')).end(
        'complete',
      );
    },
  ],
  [
    'I2',
    'a claimed pump switched on by us',
    () =>
      back(down(new Tape()).unplug('return').command('return', 'on').alarm('x', 'return').wait(1).plugIn('return')).end(
        'complete',
      ),
  ],
  [
    'I2',
    'a claimed pump turned on by another hand, and silence',
    () =>
      back(down(new Tape()).unplug('return').foreign('return', true).wait(1).wait(30).plugIn('return')).end('complete'),
  ],
  [
    'I2',
    'the alarm comes a minute late',
    () => {
      const tape = down(new Tape())
        .unplug('return')
        .foreign('return', true)
        .wait(1)
        .wait(60)
        .alarm('foreign-on', 'return');
      return back(tape.plugIn('return')).end('complete');
    },
  ],
  [
    'I2',
    'somebody else releases the claim',
    () => {
      const tape = down(new Tape()).unplug('return').work('return');
      const nonce = tape.ask('plug-in:return', 'plug-in', 'return');
      tape.wait(20).answer(nonce, 'plug-in:return', 'confirms', 'zoe').person('releases', 'return', 'zoe');
      tape.add({ kind: 'truth', at: tape.at, equipment: 'return', pluggedIn: true });
      return tape.end('stopped', ['topoff', 'skimmer', 'heater', 'return']);
    },
  ],
  [
    'I3',
    'a heater on a minute after the return',
    () => {
      const tape = down(new Tape())
        .wait(60)
        .command('return', 'on')
        .wait(30)
        .passed('on:return', 'switch-on', 'return', 3);
      return tape.start('heater').wait(60).start('skimmer').start('topoff').end('complete');
    },
  ],
  [
    'I3',
    'a heater on while the probes disagree',
    () => {
      const tape = down(new Tape()).wait(60).start('return').wait(60).wait(60);
      tape.reading('sensor.sump_temp', 26.6, { about: 'temperature' }).command('heater', 'on').wait(60);
      return tape.driver('heater', 'resume').start('skimmer').start('topoff').end('complete');
    },
  ],
  [
    'I3',
    'a heater left on when the water leaves it',
    () => {
      const tape = new Tape().begin().stop('topoff', 2).stop('skimmer').stop('return', 4);
      tape.add({ kind: 'truth', at: tape.at, equipment: 'heater', immersed: false }).wait(5);
      tape.add({ kind: 'truth', at: tape.at, equipment: 'heater', immersed: true });
      return tape.start('return').start('skimmer').start('topoff').end('complete');
    },
  ],
  [
    'I4',
    'the return stopped with the top-off still on',
    () => {
      const tape = new Tape().begin().stop('skimmer').stop('heater').stop('return', 4);
      return tape.start('return').wait(60).wait(60).start('heater').start('skimmer').end('complete');
    },
  ],
  [
    'I4',
    'the top-off back before the skimmer',
    () => {
      const tape = down(new Tape()).start('return').wait(60).wait(60).start('heater').start('topoff');
      return tape.start('skimmer').end('complete');
    },
  ],
  [
    'I5',
    'the last mover stopped without a clock',
    () => {
      const tape = down(new Tape()).command('circulation', 'off').wait(5).wait(5).wait(5);
      return back(tape.wait(60).start('circulation')).end('complete');
    },
  ],
  [
    'I5',
    'the clock runs past its hard limit in silence',
    () => {
      const header = { ...HEADER, allStop: { warnMs: 60_000, alarmMs: 120_000, hardMs: 240_000 } };
      const tape = down(new Tape(header)).command('circulation', 'off').wait(60).alarm('all-stop').wait(240);
      return back(tape.wait(60).start('circulation')).end('complete');
    },
  ],
  [
    'I5',
    'no mover runs any more and nobody is told',
    () => {
      const tape = down(new Tape()).foreign('circulation', false).wait(60).wait(60).wait(60).wait(60);
      return back(tape.wait(60).start('circulation')).end('complete');
    },
  ],
  [
    'I6',
    'the return stopped with the sump too full',
    () => {
      const tape = new Tape();
      tape.reading(LEVEL, 37, { about: 'level' });
      tape.begin().stop('topoff', 2).stop('skimmer').stop('heater');
      tape.reading(LEVEL, 37, { about: 'level' }).command('return', 'off').wait(5).wait(5).wait(5);
      return back(tape).end('complete');
    },
  ],
  [
    'I6',
    'the sump rises too far and the return stays off',
    () => {
      const tape = down(new Tape());
      tape.level(29.5);
      for (let n = 0; n < 20; n += 1) tape.wait(10);
      return back(tape).end('complete');
    },
  ],
  [
    'I7',
    'switched on after a crash without a word',
    () => {
      const tape = down(new Tape());
      tape.add({ kind: 'service', at: tape.at, state: 'down' }).silence(30);
      tape.add({ kind: 'service', at: tape.at, state: 'up' }).wait(60).wait(60).wait(60);
      return back(tape).end('complete');
    },
  ],
  [
    'I7',
    'switched on after a hub loss on what was read before it',
    () => {
      const tape = down(new Tape());
      const nonce = tape.ask('resume', 'resume');
      tape.add({ kind: 'link', at: tape.at, state: 'lost' }).silence(70);
      tape.add({ kind: 'link', at: tape.at, state: 'back' }).silence(5).answer(nonce, 'resume', 'resumes');
      return back(tape).end('complete');
    },
  ],
  [
    'I7',
    'life support restarted on somebody’s hands',
    () => {
      const tape = down(new Tape(), ['return']);
      tape.add({ kind: 'hands', at: tape.at, person: 'mia', inWater: true, holds: [] });
      tape.command('return', 'on', 'all-stop').wait(60).wait(60).wait(60);
      return tape.start('heater').start('skimmer').start('topoff').end('complete');
    },
  ],
  [
    'I8',
    'over with the skimmer off and on no list',
    () => down(new Tape()).start('return').wait(60).wait(60).start('heater').end('stopped', ['topoff']),
  ],
  [
    'I8',
    'over with a driver still suspended',
    () => {
      const tape = down(new Tape()).start('return').wait(60).wait(60).command('heater', 'on').wait(60).start('skimmer');
      return tape.start('topoff').end('complete');
    },
  ],
  [
    'I8',
    'dropped from the list before it is back',
    () => {
      const tape = down(new Tape()).person('aborts').end('aborted', ['topoff', 'skimmer', 'heater', 'return']);
      return tape.add({ kind: 'listed', at: tape.at, equipment: [] });
    },
  ],
  [
    'I9',
    'a step passed on the switch that repeats the command',
    () => {
      const tape = new Tape()
        .begin()
        .stop('topoff', 2)
        .driver('heater', 'suspend')
        .stop('heater')
        .command('skimmer', 'off');
      tape.silence(1).reading('switch.skimmer', 0, { about: 'relay', equipment: 'skimmer', echo: true });
      tape.passed('off:skimmer', 'switch-off', 'skimmer', 3).wait(10).wait(10).stop('return', 4);
      return back(tape).end('complete');
    },
  ],
  [
    'I9',
    'a restart passed on the command’s answer',
    () => {
      const tape = down(new Tape()).command('return', 'on').silence(1).passed('on:return', 'switch-on', 'return', 3);
      for (let n = 0; n < 4; n += 1) tape.wait(60);
      return tape.start('heater').start('skimmer').start('topoff').end('complete');
    },
  ],
  [
    'I10',
    'an abort that switches the skimmer on',
    () =>
      down(new Tape(), ['return'])
        .person('aborts')
        .command('skimmer', 'on')
        .wait(60)
        .end('aborted', ['topoff', 'heater', 'return']),
  ],
  [
    'I10',
    'an abort that gives a stopped heater to its thermostat',
    () =>
      new Tape()
        .begin()
        .stop('topoff', 2)
        .stop('skimmer')
        .stop('heater')
        .wait(60)
        .wait(60)
        .person('aborts')
        .driver('heater', 'resume')
        .end('aborted', ['skimmer', 'topoff']),
  ],
  [
    'I10',
    'an abort that stops the last mover',
    () => {
      const header = { ...HEADER, allStop: { warnMs: 900_000, alarmMs: 1_800_000, hardMs: 3_600_000 } };
      const tape = down(new Tape(header)).person('aborts').command('circulation', 'off').wait(60);
      return tape.end('aborted', ['topoff', 'skimmer', 'heater', 'return', 'circulation']);
    },
  ],
];
