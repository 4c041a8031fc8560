"""The whole way from pictures to hits, on footage whose truth is known."""
