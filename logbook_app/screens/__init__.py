"""The touch app. Importing this package opens nothing; `screens.app` starts Kivy."""
