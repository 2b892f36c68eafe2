/** The parts of a valibot schema that define which entries an object may have. */
interface Shape {
	type: string;
	entries?: Record<string, Shape>;
	/** Of an optional or nullable. */
	wrapped?: Shape;
	/** Of a list. */
	item?: Shape;
	/** Of a record. */
	value?: Shape;
	/** Of a union. */
	options?: Shape[];
	pipe?: readonly Shape[];
}

/** Paths of entries that are not in a schema, to any depth: a misspelled entry should be reported. */
export function unknownEntries(schema: unknown, value: unknown, path = ''): string[] {
	const shape = unwrapped(schema as Shape);
	if (typeof value !== 'object' || value === null) return [];
	if (shape.item) {
		const { item } = shape;
		return Array.isArray(value) ? value.flatMap((one, i) => unknownEntries(item, one, `${path}${i}.`)) : [];
	}
	if (shape.options) {
		const object = shape.options.find((option) => option.entries);
		return object ? unknownEntries(object, value, path) : [];
	}
	if (shape.type === 'record' && shape.value) {
		const { value: each } = shape;
		return Object.entries(value).flatMap(([key, one]) => unknownEntries(each, one, `${path}${key}.`));
	}
	const { entries } = shape;
	if (!entries) return [];
	return Object.entries(value).flatMap(([key, one]) =>
		Object.hasOwn(entries, key) ? unknownEntries(entries[key], one, `${path}${key}.`) : [path + key],
	);
}

function unwrapped(shape: Shape): Shape {
	return shape.wrapped ? unwrapped(shape.wrapped) : shape;
}
