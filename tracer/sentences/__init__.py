"""A message in plain sentences -> what each sentence may mean on the lot sheet: proposals, which count once confirmed."""
