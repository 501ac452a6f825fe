"""The noise-free threshold behind noisy edges."""
