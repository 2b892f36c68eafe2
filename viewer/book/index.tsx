export function Book() {
	return <p>Book</p>;
}
