"""Mathematics that has never heard of a bowl: meshes, frames, curves, distances, harmonics."""
