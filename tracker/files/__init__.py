"""Reading and writing single files safely: only regular ones, under limits, whole or not at all."""
