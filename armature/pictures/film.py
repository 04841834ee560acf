"""Pictures in a row as a film: H.264 in MP4, the same bytes for the same pictures."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

from armature.edge import FileError
from armature.pictures.stills import Picture

# Parts of a second that a film's clock counts in: many rates go into it without a rest.
_TICKS = 90_000
# Threads split a picture's work, and with it the bytes; one of them gives the same film on any machine.
_EXACT = {"crf": "20", "preset": "medium", "threads": "1"}


def filmed(pictures: Iterable[Picture], path: Path, side: int, rate: Fraction) -> None:
    """Write square pictures (H, W, 3) of `side` px, an even number, to an MP4 of `rate` pictures a second.

    Raises FileError where the film cannot be written.
    """
    import av

    try:
        # Without "bitexact" the file would name the encoder's version and the day.
        with av.open(str(path), "w", format="mp4", options={"movflags": "+faststart", "fflags": "+bitexact"}) as film:
            stream = film.add_stream("libx264", rate=rate, options=_EXACT)
            stream.width = stream.height = side
            stream.pix_fmt = "yuv420p"
            stream.time_base = Fraction(1, _TICKS)
            stream.codec_context.flags |= av.codec.context.Flags.bitexact
            for number, seen in enumerate(pictures):
                frame = av.VideoFrame.from_ndarray(seen, format="rgb24")
                frame.pts = round(number * _TICKS / rate)
                frame.time_base = stream.time_base
                film.mux(stream.encode(frame))
            film.mux(stream.encode(None))
    except OSError as error:
        raise FileError(path, f"the film cannot be written: {error.strerror or error}") from None
