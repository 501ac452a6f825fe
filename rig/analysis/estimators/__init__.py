"""Ways to the switching threshold from first crossings; knows no run and no budget."""
