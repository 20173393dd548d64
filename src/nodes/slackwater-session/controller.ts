import {
  flagSetting,
  isRecord,
  linkStatus,
  type Message,
  type NodeConfig,
  type RunningNode,
  type ServiceLink,
  said,
  sessionIn,
  textSetting,
  type WireSession,
} from '../shared/index.ts';

const ACTIONS = ['start', 'confirm', 'abort', 'show'] as const;
type Action = (typeof ACTIONS)[number];

const isAction = (word: unknown): word is Action => ACTIONS.some((action) => action === word);

/** What came of it: the session as it stands, and for a confirmation how it was judged. */
type Outcome = {
  readonly session: WireSession | null;
  readonly accepted?: boolean;
  readonly why?: string;
};

function actionOf(config: NodeConfig, message: Message): Action {
  const set = textSetting(config, 'action');
  const wanted = set === '' || set === 'topic' ? message.topic : set;
  if (isAction(wanted)) return wanted;
  throw new Error(`Nothing done: msg.topic must be one of ${ACTIONS.join(', ')}.`);
}

function procedureOf(config: NodeConfig, message: Message): string {
  const procedure = textSetting(config, 'procedure') || message.payload;
  if (typeof procedure === 'string' && procedure !== '') return procedure;
  throw new Error('Nothing done: name the procedure in the node or in msg.payload.');
}

/** The payload must name session, step and nonce: a confirmation of "whatever waits now" could confirm the wrong step. */
function confirmationOf(message: Message): { session: string; step: string; nonce: string; value?: number } {
  const { session, step, nonce, value } = isRecord(message.payload) ? message.payload : {};
  // Where the prompt asks for a value it may stand beside the payload, as a field to be typed into.
  const typed = value ?? message['value'];
  if (typed !== undefined && (typeof typed !== 'number' || !Number.isFinite(typed)))
    throw new Error('Nothing done: msg.value must be a number, in the unit the prompt names.');
  if (typeof session === 'string' && typeof step === 'string' && typeof nonce === 'string') {
    return { session, step, nonce, ...(typed === undefined ? {} : { value: typed }) };
  }
  throw new Error('Nothing done: msg.payload must hold session, step and nonce of the prompt that is answered.');
}

async function act(link: ServiceLink, config: NodeConfig, message: Message): Promise<Outcome> {
  switch (actionOf(config, message)) {
    case 'start': {
      const procedure = procedureOf(config, message);
      return { session: sessionIn(await link.ask('POST', '/v1/session/start', { procedure })) };
    }
    case 'confirm': {
      const answer = await link.ask('POST', '/v1/session/confirm', confirmationOf(message));
      const judged = isRecord(answer) ? answer : {};
      return {
        session: sessionIn(answer),
        // Anything but a clear yes is a no.
        accepted: judged['accepted'] === true,
        why: typeof judged['why'] === 'string' ? judged['why'] : '',
      };
    }
    case 'abort':
      return { session: sessionIn(await link.ask('POST', '/v1/session/abort')) };
    case 'show':
      return { session: sessionIn(await link.ask('GET', '/v1/session')) };
  }
}

export function runSession(node: RunningNode, config: NodeConfig, link: ServiceLink): void {
  const follow = flagSetting(config, 'follow');
  let sent = false;
  const show = (text: string, bad = false): void => {
    sent = true;
    node.status(said(text, Date.now(), bad ? 'red' : 'blue'));
  };

  const leave = link.listen({
    onState: (state) => {
      if (!sent || state.kind !== 'up') node.status(linkStatus(state));
    },
    onEvent: (event) => {
      if (!follow) return;
      if (event.kind === 'session') {
        show(event.view.status);
        node.send({ topic: 'session', payload: event.view });
      } else if (event.kind === 'alarm') {
        show(`alarm: ${event.code}`, true);
        node.send({ topic: 'alarm', payload: { code: event.code, text: event.text, at: event.at } });
      }
    },
  });

  node.on('input', (message, send, done) => {
    act(link, config, message).then(
      ({ session, accepted, why }) => {
        message.payload = session;
        if (accepted !== undefined) {
          message['accepted'] = accepted;
          message['why'] = why;
        }
        const state = session?.status ?? 'no session';
        show(accepted === false ? `not accepted; ${state}` : state, accepted === false);
        send(message);
        done();
      },
      (error: Error) => {
        show('not done', true);
        done(error.message);
      },
    );
  });
  node.on('close', leave);
}
