"""The script that draws charts in a browser: the same drawing engine that makes the pictures here."""

from importlib.metadata import version


def stamp() -> str:
    """Return the first line of the script, which names the library that it came from and that one's version."""
    return (
        f"// vl-convert-python {version('vl-convert-python')}: Vega-Embed, Vega-Lite and Vega under their BSD licence"
    )


def script() -> str:
    """Return the script as one module without imports, which sets `window.vegaEmbed`; about a megabyte.

    Making it takes some seconds and no network.
    """
    import vl_convert

    made = vl_convert.javascript_bundle("window.vegaEmbed = vegaEmbed;")
    return f"{stamp()}\n{made}\n"
