import type { Dump } from '../../model/index.ts';

/** Reduces a name to lowercase letters and digits, so that "North 80" and "north-80" are the same field. */
const plain = (name: string): string => name.toLowerCase().replace(/[^\p{L}\p{N}]/gu, '');

/**
 * Finds dumps whose `field` names another field. Where every row names a field and none names this one, the most frequent name
 * is taken for it, with a remark.
 */
export function otherFields(dumps: readonly Dump[], name: string, remarks: string[]): Set<number> {
	const counts = new Map<string, { count: number; as: string }>();
	for (const d of dumps) {
		if (d.field === null || plain(d.field) === '') continue;
		const key = plain(d.field);
		const seen = counts.get(key);
		if (seen) seen.count++;
		else counts.set(key, { count: 1, as: d.field });
	}
	const elsewhere = new Set<number>();
	if (counts.size === 0) return elsewhere;
	let own = plain(name);
	if (!counts.has(own)) {
		const blank = dumps.some((d) => d.field === null || plain(d.field) === '');
		// Otherwise rows without a name are this field's, and rows with a name are not.
		if (!blank) {
			const [key, most] = [...counts].sort((a, b) => b[1].count - a[1].count || (a[0] < b[0] ? -1 : 1))[0]!;
			own = key;
			remarks.push(`No row of the cart log names the field "${name}"; rows of "${most.as}" are used for it.`);
		}
	}
	dumps.forEach((d, i) => {
		if (d.field !== null && plain(d.field) !== '' && plain(d.field) !== own) elsewhere.add(i);
	});
	return elsewhere;
}
