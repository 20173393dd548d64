import { BAD_REFERENCES } from './bad-references.ts';
import { BAD_SECRETS } from './bad-secrets.ts';
import { BAD_TEXT } from './bad-text.ts';
import { BAD_WORDS } from './bad-words.ts';
import type { BadCase } from './good-configuration.ts';

/** Every mistake and what is said to it. */
export const BAD: readonly BadCase[] = [...BAD_TEXT, ...BAD_WORDS, ...BAD_REFERENCES, ...BAD_SECRETS];
