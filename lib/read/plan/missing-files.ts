/** Files of a folder against those that its field.json names. */
import { type Folder, type Note, type SetAside, wholeFile } from '../../model/index.ts';
import { someOf } from '../../units/index.ts';
import { nameInside } from './plan.ts';

export const PLAN = 'field.json';

/** Files that field.json names and the folder does not have, checked even if field.json has other faults. */
export function missingFiles(json: unknown, folder: Folder, known: readonly SetAside[]): SetAside[] {
	if (typeof json !== 'object' || json === null) return [];
	const faults: SetAside[] = [];
	for (const [column, name] of filesNamed(json as Record<string, unknown>)) {
		if (typeof name !== 'string' || known.some((f) => f.column === column)) continue;
		const inside = nameInside(name);
		if (inside === null || folder.has(inside)) continue;
		faults.push(wholeFile(inside, '', `${PLAN} names this file (${column}), and it is not in the folder`));
	}
	return faults;
}

/** Every file that field.json names, with its place there. */
function filesNamed(json: Record<string, unknown>): [string, unknown][] {
	const { boundary, varieties, logs } = json;
	return [
		['boundary', boundary],
		['varieties', varieties],
		...['cartLog', 'cartTrace', 'tickets'].map((key): [string, unknown] => [`${key}.file`, fileOf(json[key])]),
		...(Array.isArray(logs) ? logs.map((log, i): [string, unknown] => [`logs.${i}.file`, fileOf(log)]) : []),
	];
}

/** Files named one by one in the note on those that nothing names. */
const MOST_NAMED = 8;

/** A note on files that lie in the folder and are not read: a log that was forgotten, say. Notes for people and earlier results are no input. */
export function unnamedFiles(json: unknown, folder: Folder): Note[] {
	if (typeof json !== 'object' || json === null) return [];
	const named = new Set(filesNamed(json as Record<string, unknown>).map(([, name]) => nameInside(String(name))));
	const results = [...folder.keys()].flatMap((name) => /^(.*\/)result\.json$/.exec(name)?.[1] ?? []);
	const others = [...folder.keys()]
		.filter(
			(name) =>
				name !== PLAN &&
				!named.has(name) &&
				!/(^|\/)(\.|Thumbs\.db$)|\.md$/i.test(name) &&
				!results.some((dir) => name.startsWith(dir)),
		)
		.sort();
	if (others.length === 0) return [];
	const text = `In the folder but not named in ${PLAN}, so not used: ${someOf(others, MOST_NAMED)}.`;
	return [{ level: 'note', text }];
}

function fileOf(entry: unknown): unknown {
	return typeof entry === 'object' && entry !== null ? (entry as Record<string, unknown>).file : undefined;
}
