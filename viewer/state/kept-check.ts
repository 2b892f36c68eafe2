/** Checks that saved work or a backup has the form that this page writes. */
import { FLAG_LIMITS, PIN_FORMS, PIN_LIMITS, PIN_STATUSES } from '../../lib/model/limits.ts';
import type { History } from './edits.ts';

/** Longest text accepted; the page itself writes much shorter ones. */
const LONGEST = 10_000;
/** Most steps accepted. */
const MOST = 10_000;

type Check = (value: unknown) => boolean;

const text: Check = (x) => typeof x === 'string' && x.length <= LONGEST;
const within =
	([least, most]: readonly [number, number, string]): Check =>
	(x) =>
		typeof x === 'number' && x >= least && x <= most;
const oneOf =
	(words: readonly string[]): Check =>
	(x) =>
		words.includes(x as string);
/** Entries of an object that have a value; null for anything else. */
const entries = (x: unknown): [string, unknown][] | null =>
	typeof x === 'object' && x !== null && !Array.isArray(x)
		? Object.entries(x).filter(([, value]) => value !== undefined)
		: null;
/** Accepts an object with any of these keys, each with a valid value, and no others. */
const some =
	(known: Record<string, Check>): Check =>
	(x) =>
		entries(x)?.every(([key, value]) => Object.hasOwn(known, key) && known[key]!(value)) ?? false;
const each =
	(check: Check): Check =>
	(x) =>
		entries(x)?.every(([key, value]) => text(key) && key !== '__proto__' && check(value)) ?? false;

const pins = some({
	clock_offset_s: within(PIN_LIMITS.clock_offset_s),
	dumps: each(some({ combine: text, status: oneOf(PIN_STATUSES), reason: text })),
	factors: each(some({ form: oneOf(PIN_FORMS), value: within(PIN_LIMITS.factor) })),
	lags: each(within(PIN_LIMITS.lag_s)),
	level: oneOf(['seams']),
});
const flags = some(Object.fromEntries(Object.entries(FLAG_LIMITS).map(([word, limit]) => [word, within(limit)])));
const whole =
	(known: Record<string, Check>): Check =>
	(x) =>
		some(known)(x) && Object.keys(known).every((key) => (x as Record<string, unknown>)[key] !== undefined);
const list =
	(check: Check): Check =>
	(x) =>
		Array.isArray(x) && x.length <= MOST && x.every(check);
const steps = list(whole({ label: text, edits: whole({ pins, flags }) }));

const history = whole({ past: steps, future: steps });
const work = whole({ key: (x) => typeof x === 'string' && x.length < 1e6, name: text, history });
const backup = whole({ schema: oneOf(['steelyard.backup/1']), work: list(work) });

export interface Backup {
	schema: 'steelyard.backup/1';
	work: { key: string; name: string; history: History }[];
}

export const isHistory = history as (x: unknown) => x is History;
export const isBackup = backup as (x: unknown) => x is Backup;
