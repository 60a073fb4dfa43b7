"""The folder of outputs: what may stand there, what it holds, how it is written, recorded and emptied."""
