def draft_statement(*a, **k):
    raise NotImplementedError
