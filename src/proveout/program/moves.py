"""Moves: what a reading has collected, in pieces, so that a long program doesn't need many times its size."""

from proveout.motion import Motion, MotionBuilder, joined

XYZ = tuple[float, float, float]

PIECE = 50_000  # moves kept as Python rows before they are packed


class Moves:
    """A motion in the making."""

    def __init__(self, at: XYZ, cutter: int) -> None:
        self.builder = MotionBuilder(at)
        self.builder.cutter = cutter
        self._packed: list[Motion] = []
        self._count = 0

    def __len__(self) -> int:
        return self._count + len(self.builder)

    def restart(self, at: XYZ) -> None:
        """The first move, not yet made, will start here."""
        assert not len(self)
        self.builder.at = at

    def pack(self) -> None:
        """Make room when enough rows have come together; call between lines."""
        if len(self.builder) < PIECE:
            return
        old, self.builder = self.builder, MotionBuilder(self.builder.at)
        for name in ("feed", "speed_rpm", "cutter", "line"):
            setattr(self.builder, name, getattr(old, name))
        self._packed.append(old.motion())
        self._count += len(old)

    def motion(self) -> Motion:
        """Everything collected."""
        return joined([*self._packed, self.builder.motion()])
