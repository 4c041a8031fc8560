"""What several tests share; no test is here, and no test file imports another."""
