// What tests need from outside the product: a real home hub on this machine, plugs in it that misbehave on demand, a
// Chromium that photographs pages, and a client that looks at the hub without using the product's own connection.
// Nothing here is shipped, and nothing in src may import it.
export { closeChromium, type Photograph, type PhotographOptions, photograph } from './chromium.ts';
export { eventually } from './eventually.ts';
export { type HubClient, type HubCommand, HubError, type HubState, hubClient, rest } from './hub-client.ts';
export {
  callService,
  createPerson,
  fireEvent,
  getStates,
  type HistoryRow,
  type HubPerson,
  historyOf,
  logIn,
  postState,
  press,
  restState,
  trueLastReportedMs,
  waitForState,
} from './hub-talk.ts';
export {
  type FloatSpec,
  type PlugFault,
  type PlugSpec,
  pressPlugItself,
  type SensorSpec,
  setFault,
  setFloat,
  setPlugWatts,
  setSensor,
  type TestHome,
  testHome,
} from './misbehaving-plugs.ts';
export { type Phone, type Push, pairPhone } from './phone.ts';
export { type Prepared, prepare, prepareChromium, prepareHub } from './prepare.ts';
export { markRan, type OutsidePart } from './ran.ts';
export { type AtEnd, type RealHub, type RealHubOptions, startRealHub } from './real-hub.ts';
