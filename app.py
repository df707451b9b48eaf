import gc

from homeprog.factory import create_app

app = create_app()
gc.freeze()  # what is loaded stays: the collector need not go through it at each request
