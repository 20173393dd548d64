/** Where a rising function of one number reaches `wanted`, to the last place; the ends where it does not within them. */
export function solveRising(of: (at: number) => number, wanted: number, low: number, high: number): number {
  let [from, to] = [low, high];
  // Two hundred halvings leave nothing between two numbers of any size.
  for (let step = 0; step < 200; step += 1) {
    const middle = (from + to) / 2;
    if (middle <= from || middle >= to) break;
    if (of(middle) < wanted) from = middle;
    else to = middle;
  }
  return (from + to) / 2;
}

/** Value of a polynomial whose coefficients stand lowest power first. */
export function polynomial(coefficients: readonly number[], at: number): number {
  return coefficients.reduceRight((sum, coefficient) => sum * at + coefficient, 0);
}
