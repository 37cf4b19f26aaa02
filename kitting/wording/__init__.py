"""Words that screen, page and paper share: what views tell as data, as sentences to read."""
