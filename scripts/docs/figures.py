"""The figures of the page on the mathematics, drawn when the site is built."""

from __future__ import annotations

from pathlib import Path

import matplotlib

matplotlib.use("svg")
import matplotlib.pyplot as plt
import numpy as np

INK, SOFT, STRONG = "#22262b", "#7c8a84", "#14506b"


def draw(folder: Path) -> None:
    """Draw every figure into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    plt.rcParams.update({"font.size": 10, "axes.edgecolor": SOFT, "axes.labelcolor": INK, "svg.hashsalt": "asbuilt"})
    for name, figure in (("weights", weights()), ("same_shots", same_shots()), ("circle", circle())):
        figure.savefig(folder / f"{name}.svg", bbox_inches="tight", metadata={"Date": None})
        plt.close(figure)


def weights() -> plt.Figure:
    """Draw how much of each joint's deflection a shot sees, with shots at every second joint."""
    figure, axes = plt.subplots(figsize=(6.4, 2.2))
    along = np.linspace(0.0, 160.0, 400)
    for shot in (40.0, 80.0, 120.0):
        axes.plot(along, np.clip(1.0 - np.abs(along - shot) / 40.0, 0.0, 1.0), color=STRONG if shot == 80 else SOFT)
        axes.plot(shot, 0.0, "v", color=INK, markersize=8, clip_on=False)
    joints = np.arange(0.0, 161.0, 20.0)
    axes.plot(joints, np.clip(1.0 - np.abs(joints - 80.0) / 40.0, 0.0, 1.0), "o", color=STRONG)
    axes.set(xlabel="distance along the main, ft (a joint every 20 ft; ▼ a shot)", ylabel="weight", ylim=(0, 1.15))
    return figure


def same_shots() -> plt.Figure:
    """Draw two mains through the same shots at every fifth joint."""
    figure, axes = plt.subplots(figsize=(6.4, 2.4))
    even = np.full(10, 1.5)
    jog = np.array([1.5, 7.0, -4.0, -4.0, 7.0, 1.5, 7.0, -4.0, -4.0, 7.0])
    for turns, color, name in ((even, STRONG, "even curve: 1.5° a joint"), (jog, INK, "jog: up to 7° a joint")):
        east, north = _laid(turns)
        # Through the first and the last shot, as both surveys have it.
        slope = (north[-1] - north[0]) / (east[-1] - east[0])
        north = north - north[0] - slope * (east - east[0])
        axes.plot(east, north, "-o", color=color, markersize=4, linewidth=1, label=name)
    axes.plot(east[::5], north[::5], "v", color=SOFT, markersize=11, fillstyle="none", label="shot")
    axes.set(xlabel="along the chord, ft", ylabel="off it, ft")
    axes.legend(loc="lower center", ncols=3, bbox_to_anchor=(0.5, 1.0), frameon=False)
    return figure


def _laid(turns: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    azimuth = np.radians(np.concatenate([[0.0], np.cumsum(turns)]))
    return (
        np.concatenate([[0.0], np.cumsum(20.0 * np.cos(azimuth))]),
        np.concatenate([[0.0], np.cumsum(-20.0 * np.sin(azimuth))]),
    )


def circle() -> plt.Figure:
    """Draw a deflection with its covariance inside the circle of its allowable."""
    figure, axes = plt.subplots(figsize=(3.4, 3.4))
    turn = np.linspace(0.0, 2.0 * np.pi, 200)
    axes.plot(5.0 * np.cos(turn), 5.0 * np.sin(turn), color=INK)
    for part, style in ((1.0, "-"), (1.645, "--")):
        axes.plot(2.2 + part * 0.5 * np.cos(turn), 1.2 + part * 1.2 * np.sin(turn), style, color=STRONG)
    axes.plot(2.2, 1.2, "o", color=STRONG)
    axes.axhline(0.0, color=SOFT, linewidth=0.6)
    axes.axvline(0.0, color=SOFT, linewidth=0.6)
    axes.set(xlabel="right, degrees", ylabel="up, degrees", aspect="equal", xlim=(-5.6, 5.6), ylim=(-5.6, 5.6))
    return figure
