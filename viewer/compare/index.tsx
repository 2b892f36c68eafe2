export function Compare() {
	return <p>Compare</p>;
}
