/** The known word closest to what was typed, or null where none is close enough to be meant. */
export function nearest(found: string, known: readonly string[]): string | null {
  const wanted = normal(found);
  let best: string | null = null;
  let bestSteps = Number.POSITIVE_INFINITY;
  for (const word of known) {
    const steps = editSteps(wanted, normal(word));
    if (steps < bestSteps) {
      best = word;
      bestSteps = steps;
    }
  }
  // A third of the letters may differ; beyond that a suggestion misleads more than it helps.
  if (bestSteps <= Math.max(1, Math.floor(wanted.length / 3))) return best;
  return known.find((word) => beginsAlike(wanted, normal(word))) ?? null;
}

/** "Did you mean …?" or, where nothing is near, `otherwise`. */
export function didYouMean(found: string, known: readonly string[], otherwise: string): string {
  const word = nearest(found, known);
  return word === null ? otherwise : `Did you mean "${word}"?`;
}

/** "a, b, c" for a message, cut after `most` words. */
export function listWords(words: readonly string[], most = 12): string {
  if (words.length === 0) return 'none';
  const shown = words.slice(0, most).join(', ');
  return words.length > most ? `${shown} and ${words.length - most} more` : shown;
}

/** One is the other with more behind it, as in `rise` and `riseShare`. */
function beginsAlike(a: string, b: string): boolean {
  return Math.min(a.length, b.length) >= 4 && (a.startsWith(b) || b.startsWith(a));
}

function normal(word: string): string {
  return word.toLowerCase().replace(/[_\s-]/g, '');
}

/** Letters to add, drop, change or swap with their neighbour to turn one word into the other. */
export function editSteps(a: string, b: string): number {
  let beforeLast: number[] = [];
  let last = Array.from({ length: b.length + 1 }, (_, column) => column);
  for (let row = 1; row <= a.length; row++) {
    const line = [row];
    for (let column = 1; column <= b.length; column++) {
      const same = a[row - 1] === b[column - 1];
      let steps = Math.min(at(last, column) + 1, at(line, column - 1) + 1, at(last, column - 1) + (same ? 0 : 1));
      const swapped = row > 1 && column > 1 && a[row - 1] === b[column - 2] && a[row - 2] === b[column - 1];
      if (swapped) steps = Math.min(steps, at(beforeLast, column - 2) + 1);
      line.push(steps);
    }
    beforeLast = last;
    last = line;
  }
  return at(last, b.length);
}

function at(row: readonly number[], index: number): number {
  return row[index] ?? Number.POSITIVE_INFINITY;
}
