"""What is filed, hung in the booth or held in the hand: report, sheets, phone page.

Templates and script lie beside the modules that fill them.
"""
