import { dirname, resolve } from 'node:path';
import { problem, problemWith, type SlackwaterError } from '../errors/index.ts';
import { buildConfig } from './build.ts';
import { collectFindings, type Findings } from './findings.ts';
import { SCHEMA, type Written } from './schema.ts';
import { readSource } from './source.ts';
import { translate } from './translate.ts';
import type { Config } from './types.ts';

export type LoadedConfig = { readonly config: Config; readonly warnings: readonly string[] };

/**
 * Checks the text of a slackwater.yaml. Pure: nothing is read but `text`; `file` names it in messages and gives the folder
 * that paths in it start from. Throws one error, SW-CFG-001, whose details are all the findings in the order of the text.
 */
export function loadConfig(text: string, file: string): LoadedConfig {
  const source = readSource(text, file);
  if (source.findings.length > 0) throw refused(source.findings, file);
  const findings = collectFindings(source);
  const raw = asGroup(source.value);
  const written = parse(raw, findings);
  const warnings: string[] = [];
  const config =
    written === null
      ? null
      : buildConfig({ written, findings, warnings, ids: idsOf(raw), folder: dirname(resolve(file)) });
  const found = findings.list();
  if (found.length > 0 || config === null) throw refused(found, file);
  return { config, warnings };
}

/** The findings of a refused configuration. */
function refused(findings: readonly SlackwaterError[], file: string): SlackwaterError {
  const count = findings.length === 1 ? '1 problem' : `${findings.length} problems`;
  return problemWith(findings, 'SW-CFG-001', { file, count });
}

type Group = Readonly<Record<string, unknown>>;

/** An empty file and a file that is one word have no keys: everything is missing from them. */
function asGroup(value: unknown): unknown {
  return value === null || value === undefined ? {} : value;
}

/** Sections of entries, each of which can be left out of a second reading without hiding the others. */
const ENTRY_SECTIONS = ['equipment', 'sensors', 'counters', 'parts', 'people', 'access'] as const;
const DEFAULTED = ['rules', 'reminders', 'api', 'prefix', 'store'];

/**
 * The parsed text. Where the schema finds something, the entries at fault are taken out and the rest is parsed again, so
 * that a wrong unit in one place does not hide a dangling name in another. Null where too much is missing for that.
 */
function parse(raw: unknown, findings: Findings): Written | null {
  const first = SCHEMA.safeParse(raw);
  if (first.success) return first.data;
  translate(SCHEMA, raw, first.error.issues, findings);
  if (typeof raw !== 'object' || raw === null || Array.isArray(raw)) return null;
  let rest: Group = raw as Group;
  for (const issue of first.error.issues)
    rest = without(rest, issue.path, issue.code === 'unrecognized_keys' ? issue.keys : []);
  const second = SCHEMA.safeParse(rest);
  return second.success ? second.data : null;
}

function without(group: Group, path: readonly PropertyKey[], unknownKeys: readonly string[]): Group {
  const [section, entry] = path.map(String);
  if (section === undefined) return dropped(group, unknownKeys);
  if (DEFAULTED.includes(section)) return dropped(group, [section]);
  if (!(ENTRY_SECTIONS as readonly string[]).includes(section)) return group;
  const entries = group[section];
  if (entry === undefined || typeof entries !== 'object' || entries === null) return dropped(group, [section]);
  return { ...group, [section]: dropped(entries as Group, [entry]) };
}

function dropped(group: Group, keys: readonly string[]): Group {
  return Object.fromEntries(Object.entries(group).filter(([key]) => !keys.includes(key)));
}

function idsOf(raw: unknown): Record<(typeof ENTRY_SECTIONS)[number], readonly string[]> {
  const keys = (section: string): readonly string[] => {
    const entries = (raw as Group)[section];
    return typeof entries === 'object' && entries !== null ? Object.keys(entries) : [];
  };
  return {
    equipment: keys('equipment'),
    sensors: keys('sensors'),
    counters: keys('counters'),
    parts: keys('parts'),
    people: keys('people'),
    access: keys('access'),
  };
}

/** For the edges, which read the file: the same kind of error as for what is in it. */
export function unreadable(file: string, detail: string): SlackwaterError {
  return problem('SW-CFG-019', { file, detail });
}
