import { DAY_MS } from '../../../src/units/index.ts';
import type { Trial } from './trial.ts';

const middle = (values: readonly number[]): number | null => {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted.length === 0 ? null : ((sorted[(sorted.length - 1) >> 1] ?? 0) + (sorted[sorted.length >> 1] ?? 0)) / 2;
};

const YEAR_MS = 365.25 * DAY_MS;

function falseOf(trials: readonly Trial[]) {
  const tankYears = trials.reduce((sum, { days }) => sum + (days * DAY_MS) / YEAR_MS, 0);
  const alarms = trials.flatMap((trial) => trial.falseAlarms);
  const likelyFalse = alarms.filter(({ sure }) => sure !== 'suspected').length;
  return {
    falseAlarms: alarms.length,
    likelyFalse,
    tankYears,
    perTankYear: tankYears === 0 ? 0 : alarms.length / tankYears,
  };
}

/** Shares and delays by condition; false alarms in healthy tanks and in all windows. */
export function summary(trials: readonly Trial[]) {
  const names = [...new Set(trials.flatMap(({ plant }) => (plant === null ? [] : [plant])))];
  const conditions = names.map((plant) => {
    const own = trials.filter((trial) => trial.plant === plant);
    const delays = own.flatMap(({ first, onset }) => (first === null || onset === null ? [] : [first.heardAt - onset]));
    const likely = own.flatMap((trial) =>
      trial.likely === null || trial.onset === null ? [] : [trial.likely.heardAt - trial.onset],
    );
    // Some can only be seen when a lamp is lit, water made, or the return stopped: from there on.
    const shown = own.flatMap(({ first, onset }) =>
      first === null || onset === null ? [] : [first.heardAt - Math.max(first.since, onset)],
    );
    return {
      ...{ plant, windows: own.length, found: delays.length, share: delays.length / own.length },
      ...{
        medianDelayMs: middle(delays),
        medianShownMs: middle(shown),
        foundLikely: likely.length,
        medianLikelyMs: middle(likely),
      },
      falseAlarms: own.reduce((sum, trial) => sum + trial.falseAlarms.length, 0),
    };
  });
  return { conditions, healthy: falseOf(trials.filter(({ plant }) => plant === null)), all: falseOf(trials) };
}
