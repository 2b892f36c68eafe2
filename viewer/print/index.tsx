export function Print() {
	return <p>Print</p>;
}
