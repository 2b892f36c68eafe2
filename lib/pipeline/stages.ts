/**
 * Results of the stages of a run with the inputs that they came from. A stage runs again only when one of its inputs has
 * changed; if its result is equal to the last one, later stages need not run again.
 */
export class Stages {
	private readonly kept = new Map<string, { read: readonly unknown[]; made: unknown }>();

	/**
	 * @param read - all inputs of `make`; they must not be changed later
	 */
	stage<T>(name: string, read: readonly unknown[], make: () => T): T {
		const last = this.kept.get(name);
		if (last && alike(last.read, read)) return last.made as T;
		const made = make();
		const stands = last !== undefined && alike(last.made, made);
		this.kept.set(name, { read, made: stands ? last.made : made });
		return stands ? (last.made as T) : made;
	}
}

/** True for equal content: typed arrays, lists and plain objects to any depth; NaN equals NaN; functions by identity. */
export function alike(a: unknown, b: unknown): boolean {
	if (Object.is(a, b)) return true;
	if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false;
	if (Object.getPrototypeOf(a) !== Object.getPrototypeOf(b)) return false;
	if (ArrayBuffer.isView(a)) return alikeArrays(a as Float64Array, b as Float64Array);
	if (Array.isArray(a)) {
		const other = b as unknown[];
		return a.length === other.length && a.every((value, i) => alike(value, other[i]));
	}
	if (a instanceof Map) {
		const other = b as Map<unknown, unknown>;
		return a.size === other.size && [...a].every(([key, value]) => other.has(key) && alike(value, other.get(key)));
	}
	const plain = Object.getPrototypeOf(a);
	if (plain !== Object.prototype && plain !== null) return false;
	const keys = Object.keys(a);
	if (keys.length !== Object.keys(b).length) return false;
	return keys.every((key) => Object.hasOwn(b, key) && alike(a[key as keyof typeof a], b[key as keyof typeof b]));
}

function alikeArrays(a: Float64Array, b: Float64Array): boolean {
	if (a.length !== b.length) return false;
	for (let i = 0; i < a.length; i++) if (a[i] !== b[i] && !(Number.isNaN(a[i]) && Number.isNaN(b[i]))) return false;
	return true;
}
