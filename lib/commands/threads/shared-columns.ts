/** Columns on their way between threads. */

/** Shorter columns are copied. */
const SHORT = 1 << 14;

/**
 * Moves the long columns of an object, and of the objects in it, into memory that threads share. They keep their values.
 *
 * @param moved - columns that were moved before, each with what it became: a column in several objects moves once
 */
export function share(value: unknown, moved = new Map<unknown, Float64Array>()): void {
	if (typeof value !== 'object' || value === null || Array.isArray(value) || ArrayBuffer.isView(value)) return;
	const object = value as Record<string, unknown>;
	for (const [key, entry] of Object.entries(object)) {
		if (ArrayBuffer.isView(entry) && !(entry instanceof DataView)) {
			const column = entry as Float64Array;
			if (column.byteLength < SHORT || column.buffer instanceof SharedArrayBuffer) continue;
			let shared = moved.get(column);
			if (shared === undefined) {
				const Kind = column.constructor as Float64ArrayConstructor;
				shared = new Kind(new SharedArrayBuffer(column.byteLength));
				shared.set(column);
				moved.set(column, shared);
			}
			object[key] = shared;
		} else share(entry, moved);
	}
}

/** The memory of all columns in a result, to be handed over instead of copied. */
export function transferable(value: unknown, found = new Set<ArrayBuffer>()): ArrayBuffer[] {
	if (ArrayBuffer.isView(value)) {
		if (value.buffer instanceof ArrayBuffer) found.add(value.buffer);
	} else if (typeof value === 'object' && value !== null) {
		for (const entry of Object.values(value)) transferable(entry, found);
	}
	return [...found];
}
