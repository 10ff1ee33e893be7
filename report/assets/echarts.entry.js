// The parts of the chart library the report draws with. What is not listed here
// (toolbox, maps, HTML tooltips' data views, ...) is not in the report at all.
export { init, use, getInstanceByDom } from "echarts/core";
import { use } from "echarts/core";
import { CustomChart, LineChart } from "echarts/charts";
import { GridComponent, MarkLineComponent, TooltipComponent } from "echarts/components";
import { SVGRenderer } from "echarts/renderers";

use([CustomChart, LineChart, GridComponent, MarkLineComponent, TooltipComponent, SVGRenderer]);
