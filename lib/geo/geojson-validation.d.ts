/** The package carries no types of its own. */
declare module 'geojson-validation' {
	/** With `true` every complaint in words, none where the object is valid GeoJSON. */
	function valid(object: unknown, trace: true): string[];
	const validation: { valid: typeof valid };
	export default validation;
}
