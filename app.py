from homeprog.factory import create_app

app = create_app()
