// OpenCV behind plain functions, for tests and benchmarks written in C.
#include "tests/opencv.h"

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

uint32_t opencv_components(const unsigned char *mask, uint32_t width, uint32_t height, uint32_t *labels) {
    const cv::Mat in((int)height, (int)width, CV_8UC1, const_cast<unsigned char *>(mask));
    cv::Mat out((int)height, (int)width, CV_32SC1, labels);
    return (uint32_t)cv::connectedComponents(in, out, 8, CV_32S) - 1;
}
