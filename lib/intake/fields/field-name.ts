import type { LogRows } from '../model.ts';

/**
 * Names for fields that nothing names: the folder or zip that holds this field's files alone, or else its file, or
 * else a number.
 */
export function nameFields(
	fields: { name: string; parts: { machine: number }[] }[],
	logs: readonly LogRows[],
	machines: readonly { log: number }[],
): void {
	const filesOf = fields.map((field) => [
		...new Set(field.parts.map((p) => (logs[machines[p.machine]?.log ?? 0] as LogRows).table.file)),
	]);
	fields.forEach((field, k) => {
		if (field.name !== '') return;
		const own = filesOf[k] as string[];
		const others = filesOf.flatMap((files, m) => (m === k ? [] : files));
		const parts = own.map((f) => f.split('/').slice(0, -1));
		const shared = (parts[0] ?? []).filter((p, i) => parts.every((q) => q[i] === p));
		const above = shared
			.filter(
				(p, i) => !/^taskdata$/i.test(p) && !others.some((f) => f.startsWith(`${shared.slice(0, i + 1).join('/')}/`)),
			)
			.at(-1);
		const base = own.length === 1 ? (own[0]?.split('/').at(-1) ?? '').replace(/\.[^.]*$/, '') : '';
		const alone = own.length === 1 && !others.includes(own[0] as string);
		const name = above?.replace(/\.(zip|kmz)$/i, '') ?? (alone ? base : '');
		field.name = name !== '' ? name : `${base || 'field'} ${k + 1}`;
	});
}
