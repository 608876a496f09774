"""The proof: visits every state that any order sheet can lead to, and checks every rule in it."""
