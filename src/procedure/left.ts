import { keyOf, nameOf, type Run, recallText } from './run.ts';

/** What a session that ends before its time leaves off, claimed or suspended, for a person to bring back. */
export function leftText(run: Run): string {
  const { offNow, claims } = run.state;
  const off = offNow.map((id) => `${nameOf(run, id)}${howLeft(run, id)}`);
  const suspended = run.state.plan.outOfService
    .map((id) => recallText(run, keyOf('taken', id)))
    .filter((entity) => entity !== null);
  const parts = [
    off.length > 0 ? `Off or not proved back: ${off.join(', ')}.` : 'Nothing was left off.',
    ...(claims.length > 0
      ? [`Claimed: ${claims.map((each) => `${nameOf(run, each.equipment)} by ${each.person}`).join(', ')}.`]
      : []),
    ...(suspended.length > 0 ? [`Still suspended in the hub: ${suspended.join(', ')}.`] : []),
    ...(off.length > 0 ? ['Bring these back by hand, in restore order.'] : []),
  ];
  return parts.join(' ');
}

function howLeft(run: Run, id: string): string {
  if (recallText(run, keyOf('was', id)) === 'off') return ' (was off before)';
  return recallText(run, keyOf('ls.back', id)) === 'reported' ? ' (restarted, not proven)' : '';
}
