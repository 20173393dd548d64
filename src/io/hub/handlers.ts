import type { HubHandlers, Log } from '../../ports/index.ts';

/** The same handlers, where one that throws is logged and the next one still runs. */
export function shieldHandlers(handlers: HubHandlers, log: Log): HubHandlers {
  const shield =
    <A>(name: string, handler: (argument: A) => void) =>
    (argument: A): void => {
      try {
        handler(argument);
      } catch (error) {
        log.error(`hub: ${name} failed: ${error instanceof Error ? error.stack : String(error)}`);
      }
    };
  return {
    onObservations: shield('onObservations', (batch) => handlers.onObservations(batch)),
    onReadings: shield('onReadings', (readings) => handlers.onReadings(readings)),
    onPress: shield('onPress', (press) => handlers.onPress(press)),
    onChange: shield('onChange', (change) => handlers.onChange(change)),
    onLink: shield('onLink', (link) => handlers.onLink(link)),
    onRefused: shield('onRefused', (reason) => handlers.onRefused(reason)),
    onSkew: shield('onSkew', (skewMs) => handlers.onSkew?.(skewMs)),
  };
}
