"""What the screens show and share: situation, messages, memory, keys, words."""
