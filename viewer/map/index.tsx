export function MapView() {
	return <p>MapView</p>;
}
