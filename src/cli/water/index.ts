// The topics of `slackwater water`: which options each takes, how they are read, and what is said. The numbers come from src/water.
import { BUILD_TOPICS } from './topics-build.ts';
import { CHANGE_TOPICS } from './topics-changes.ts';
import { HEAT_TOPICS } from './topics-heat.ts';
import { RO_TOPICS } from './topics-ro.ts';
import { SALINITY_TOPICS } from './topics-salinity.ts';
import { SALT_TOPICS } from './topics-salt.ts';
import type { Topic } from './types.ts';

export { camel, expectedOf, givenFor, quoted, runTopic } from './given.ts';
export { resultJson, resultText } from './show.ts';
export type { Result, Topic, TopicOption } from './types.ts';

export const TOPICS: readonly Topic[] = [
  ...SALINITY_TOPICS,
  ...SALT_TOPICS,
  ...CHANGE_TOPICS,
  ...RO_TOPICS,
  ...HEAT_TOPICS,
  ...BUILD_TOPICS,
];
