import { parentPort, workerData } from 'node:worker_threads';
import { fullCheck } from './check.ts';

export type CheckAnswer = { readonly found: string | null };

const answer: CheckAnswer = { found: fullCheck(String(workerData)) };
parentPort?.postMessage(answer);
