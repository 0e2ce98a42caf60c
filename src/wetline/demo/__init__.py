"""The invented incident: terrain, water, fuels, weather, a fire and a fleet from a seed."""

from wetline.demo.build import DemoResult, build_demo

__all__ = ["DemoResult", "build_demo"]
