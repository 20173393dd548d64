import type { SlackwaterError } from '../errors/index.ts';
import { pathText, type Report } from './meta.ts';
import type { Source, Spot } from './source.ts';

/** Collects everything that is wrong, in the order of the text. */
export type Findings = {
  add(path: readonly PropertyKey[], spot: Spot, report: Report): void;
  list(): readonly SlackwaterError[];
};

export function collectFindings(source: Source): Findings {
  const found: { readonly offset: number; readonly error: SlackwaterError }[] = [];
  return {
    add(path, spot, report) {
      const error = report(source.at(path, spot), pathText(path));
      if (found.some((each) => each.error.message === error.message)) return;
      found.push({ offset: source.offset(path, spot), error });
    },
    list: () => found.toSorted((a, b) => a.offset - b.offset).map((each) => each.error),
  };
}
